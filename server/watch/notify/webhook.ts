/**
 * Webhooks: JSON, signed with the shared secret and the time, retried with growing pauses. No request goes to loopback,
 * link-local or private ranges unless that is allowed: an address typed by one tenant must not open the service's own
 * network. The check is made on the address that is connected to, not on a name that may change in between.
 */
import { createHmac } from 'node:crypto';
import { lookup } from 'node:dns';
import { request as httpRequest } from 'node:http';
import { request as httpsRequest } from 'node:https';
import { BlockList, isIP, type LookupFunction } from 'node:net';
import type { Database } from '../../db/database.ts';
import type { Courier, Outcome } from './deliver.ts';

const patienceMs = 10_000;
const longestAnswer = 2_000;

const closed = new BlockList();
for (const [network, prefix] of [
  ['0.0.0.0', 8],
  ['10.0.0.0', 8],
  ['100.64.0.0', 10],
  ['127.0.0.0', 8],
  ['169.254.0.0', 16],
  ['172.16.0.0', 12],
  ['192.0.0.0', 24],
  ['192.168.0.0', 16],
  ['198.18.0.0', 15],
  ['224.0.0.0', 3],
] as const) {
  closed.addSubnet(network, prefix, 'ipv4');
}
for (const [network, prefix] of [
  ['::', 128],
  ['::1', 128],
  ['64:ff9b::', 96],
  ['fc00::', 7],
  ['fe80::', 10],
  ['ff00::', 8],
] as const) {
  closed.addSubnet(network, prefix, 'ipv6');
}

/** IPv4 written as IPv6 is judged as the IPv4 it is. */
export function isClosed(address: string): boolean {
  const mapped = /^::ffff:(\d+\.\d+\.\d+\.\d+)$/i.exec(address)?.[1];
  if (mapped) return closed.check(mapped, 'ipv4');
  if (/^::ffff:/i.test(address)) return true;
  return closed.check(address, isIP(address) === 6 ? 'ipv6' : 'ipv4');
}

const refusal = 'refused: the address leads into a private network';

/** Looks a name up and passes on only what may be connected to. */
const guardedLookup: LookupFunction = (host, options, callback) => {
  lookup(host, { ...options, all: true }, (error, addresses) => {
    if (error) return callback(error, []);
    const open = addresses.filter((one) => !isClosed(one.address));
    const [first] = open;
    if (!first) return callback(Object.assign(new Error(refusal), { code: 'ECLOSED' }), []);
    if (options.all) return callback(null, open);
    callback(null, first.address, first.family);
  });
};

export const signatureOf = (secret: string, timeMs: number, body: string): string =>
  createHmac('sha256', secret).update(`${timeMs}.${body}`).digest('hex');

export function webhookCourier(db: Database, { allowPrivate }: { readonly allowPrivate: boolean }): Courier {
  return {
    channel: 'webhook',
    async send(row, nowMs): Promise<Outcome> {
      const hook = await db
        .selectFrom('webhook')
        .selectAll()
        .where('id', '=', row.webhook_id)
        .executeTakeFirst();
      if (!hook) return { kind: 'refused', says: 'the webhook was taken away' };
      const url = new URL(row.address);
      const host = url.hostname.replace(/^\[|\]$/g, '');
      if (!allowPrivate && isIP(host) !== 0 && isClosed(host)) return { kind: 'refused', says: refusal };
      const headers = {
        'content-type': 'application/json',
        'content-length': String(Buffer.byteLength(row.body)),
        'idempotency-key': row.id,
        'crownwatch-time': String(nowMs),
        'crownwatch-signature': signatureOf(hook.secret, nowMs, row.body),
      };
      return post(url, headers, row.body, allowPrivate);
    },
    async stop() {},
  };
}

function post(
  url: URL,
  headers: Record<string, string>,
  body: string,
  allowPrivate: boolean,
): Promise<Outcome> {
  return new Promise((resolve) => {
    const fail = (says: string) => resolve({ kind: 'failed', says });
    const ask = url.protocol === 'https:' ? httpsRequest : httpRequest;
    const asked = ask(
      url,
      {
        method: 'POST',
        headers,
        signal: AbortSignal.timeout(patienceMs),
        ...(allowPrivate ? {} : { lookup: guardedLookup }),
      },
      (answer) => {
        const status = answer.statusCode ?? 0;
        let read = 0;
        answer.on('data', (chunk: Buffer) => {
          read += chunk.length;
          if (read > longestAnswer) asked.destroy();
        });
        answer.resume();
        if (status >= 200 && status < 300) resolve({ kind: 'sent', says: `answered ${status}` });
        else if (status >= 300 && status < 400) {
          resolve({
            kind: 'refused',
            says: `refused: it redirects (${status}), and redirects are not followed`,
          });
        } else fail(`it answered ${status}`);
      },
    );
    asked.on('error', (error: NodeJS.ErrnoException) => {
      if (error.code === 'ECLOSED') return resolve({ kind: 'refused', says: refusal });
      fail(
        error.name === 'TimeoutError' || error.name === 'AbortError'
          ? 'it did not answer within 10 s'
          : `it could not be reached (${error.code ?? error.message})`,
      );
    });
    asked.end(body);
  });
}
