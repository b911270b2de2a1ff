/**
 * A kill says nothing of power loss: what the kernel has buffered outlives the process. So the system calls are
 * watched: between reading a PUBLISH and writing its PUBACK the log of the store must have been forced to the disk.
 */
import { readFileSync } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { connectAs, openWire, publish } from '../integration/broker-stand.ts';
import { hasProgram } from '../support/service.ts';
import { isBuilt, startCollector } from './collector.ts';

const able = hasProgram('strace') && isBuilt;

let folder: string;
beforeEach(async () => {
  folder = await mkdtemp(path.join(tmpdir(), 'crownwatch-power-'));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

type Event = { readonly kind: 'publish' | 'sync' | 'puback'; readonly message?: number };

/** As strace -xx writes texts and paths. */
const inHex = (text: string): string =>
  [...Buffer.from(text)].map((byte) => `\\x${byte.toString(16).padStart(2, '0')}`).join('');

/**
 * Lines of `strace -f -yy -xx`: `PID call(fd<path>, "bytes", …) = result`, cut in two ("unfinished", "resumed") where
 * threads interleave. A call counts where it ended, except a PUBACK, which counts where it began.
 */
function eventsIn(trace: string): Event[] {
  const events: Event[] = [];
  const begun = new Map<string, string>();
  for (const line of trace.split('\n')) {
    const [, pid = '', call = ''] = /^(\d+)\s+(.*)$/.exec(line) ?? [];
    const unfinished = / <unfinished \.\.\.>$/.test(call);
    if (unfinished) begun.set(pid, call);
    const whole = /^<\.\.\. \w+ resumed>/.test(call) ? `${begun.get(pid) ?? ''} ${call}` : call;
    const resumed = whole !== call;

    const wrote = /^(?:write|writev|sendmsg|sendto)\(\d+<(?:TCP|socket):/.test(whole) && !resumed;
    for (const [, high = '', low = ''] of wrote ? whole.matchAll(/\\x40\\x02\\x(..)\\x(..)/g) : []) {
      events.push({ kind: 'puback', message: Number.parseInt(high + low, 16) });
    }
    if (unfinished) continue;
    const name = inHex('message-');
    if (/^(?:read|recvmsg|recvfrom)\(\d+<(?:TCP|socket):/.test(whole)) {
      for (const piece of whole.split(name).slice(1)) {
        const digits = [...(/^(?:\\x3[0-9])+/.exec(piece)?.[0] ?? '').matchAll(/\\x3([0-9])/g)];
        events.push({ kind: 'publish', message: Number(digits.map(([, digit]) => digit).join('')) });
      }
    }
    const synced = /^(?:fsync|fdatasync)\(\d+<([^>]*)>.* = 0$/.exec(whole)?.[1];
    if (synced?.endsWith(inHex('readings.db-wal'))) events.push({ kind: 'sync' });
  }
  return events;
}

const messages = 5;

async function watch(synchronous: 'FULL' | 'NORMAL'): Promise<Event[]> {
  const trace = path.join(folder, 'trace');
  const calls = 'trace=read,recvmsg,recvfrom,write,writev,sendmsg,sendto,fsync,fdatasync';
  const collector = await startCollector(path.join(folder, 'readings.db'), synchronous, [
    ...['strace', '-f', '-yy', '-xx', '-s', '4096', '-e', calls, '-e', 'signal=none', '-o', trace],
  ]);
  const wire = await openWire(collector.port);
  wire.send(connectAs('attic'));
  await wire.next('connack');
  for (let message = 1; message <= messages; message += 1) {
    const pack = [{ n: `message-${message}`, u: '%RH', v: 40 + message, t: 1_768_478_400 }];
    wire.send(publish('readings/attic', pack, { messageId: message }));
    expect(await wire.next('puback')).toMatchObject({ messageId: message });
  }
  wire.socket.destroy();
  await collector.stop();
  return eventsIn(readFileSync(trace, 'utf8'));
}

/** Of each message: what happened between its PUBLISH and its PUBACK. */
function syncsBetween(events: readonly Event[]): number[] {
  return Array.from({ length: messages }, (_, at) => {
    const from = events.findIndex(({ kind, message }) => kind === 'publish' && message === at + 1);
    const to = events.findIndex(({ kind, message }) => kind === 'puback' && message === at + 1);
    expect(from, `PUBLISH ${at + 1} was seen`).toBeGreaterThanOrEqual(0);
    expect(to, `PUBACK ${at + 1} came after its PUBLISH`).toBeGreaterThan(from);
    return events.slice(from, to).filter(({ kind }) => kind === 'sync').length;
  });
}

test.skipIf(!able)('PUBLISH, then the log on the disk, then PUBACK', async () => {
  for (const syncs of syncsBetween(await watch('FULL'))) expect(syncs).toBeGreaterThanOrEqual(1);
});

test.skipIf(!able)(
  'with synchronous = NORMAL nothing is forced to the disk: the test above bites',
  async () => {
    const events = await watch('NORMAL');
    expect(syncsBetween(events)).toEqual([0, 0, 0, 0, 0]);
    // Closing the file forces the log to the disk even then, so the watcher is not blind.
    expect(events.some(({ kind }) => kind === 'sync')).toBe(true);
  },
);
