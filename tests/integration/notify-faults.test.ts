/** What goes wrong on the way out, on the real service: nothing is lost, nothing comes twice, and the page can say it. */
import { randomUUID } from 'node:crypto';
import mqtt from 'mqtt';
import { afterEach, describe, expect, test } from 'vitest';
import type { DeliveryLog, Notice, Person } from '../../server/contract/index.ts';
import { firstOrganisation } from '../../server/registry/organisations.ts';
import { openStores } from '../../server/services.ts';
import { noticePublisher } from '../../server/watch/notify/mqtt.ts';
import { api } from '../support/api.ts';
import { addDampHouse, dampRules, houseAddress } from '../support/damp-house.ts';
import { openMailBox } from '../support/mail-box.ts';
import { hasMosquitto, startMosquitto } from '../support/mosquitto.ts';
import { freePort } from '../support/ports.ts';
import { eventually, failingStart, startService, temporaryFolder } from '../support/service.ts';
import { type HookAnswer, openWebhook } from '../support/webhook.ts';

const undo: (() => unknown)[] = [];
afterEach(async () => {
  for (const one of undo.splice(0).reverse()) await one();
});

function folderOf(): string {
  const folder = temporaryFolder();
  undo.push(folder.remove);
  return folder.path;
}
async function started(folder: string, env: Record<string, string>) {
  const service = await startService(folder, { MAIL_FROM: 'crownwatch@workshop.example', ...env });
  undo.push(() => service.kill('SIGTERM'));
  return { service, client: api(service.url) };
}
const messages = async (client: ReturnType<typeof api>) =>
  (await client.get<DeliveryLog>('/api/messages')).messages;

describe('a mail server that is not there', () => {
  test('what waits says for what, and goes out once when it is back', async () => {
    const folder = folderOf();
    await addDampHouse(folder, 0, null);
    const port = await freePort();
    const { client } = await started(folder, { SMTP_URL: `smtp://127.0.0.1:${port}` });
    const waiting = await eventually('a message that waits', async () =>
      (await messages(client)).find((one) => one.lastError !== null),
    );
    expect(waiting).toMatchObject({ state: 'waiting', to: houseAddress(0), attempts: 1 });
    expect(waiting.lastError).toContain('ECONNREFUSED');
    expect(waiting.nextMs).toBeGreaterThan(waiting.madeMs);

    const box = await openMailBox(port);
    undo.push(box.stop);
    expect((await client.ask('POST', `/api/messages/${waiting.id}/again`, {})).status).toBe(200);
    await eventually('the mail', async () => box.mails.length > 0);
    await eventually('told as sent', async () => (await messages(client))[0]?.state === 'sent');
    expect(box.mails).toHaveLength(1);
    expect(box.mails[0]?.messageId).toBe(`<${waiting.id}@workshop.example>`);
  });

  test('without any way out set up it waits as well, and says so', async () => {
    const folder = folderOf();
    await addDampHouse(folder, 0, null);
    const { client } = await started(folder, {});
    const [waiting] = await eventually('a message', async () => {
      const all = await messages(client);
      return all.length > 0 && all[0]?.lastError ? all : null;
    });
    expect(waiting).toMatchObject({ state: 'waiting', lastError: 'no way out is set up for email' });
  });
});

describe('a webhook', () => {
  async function told(answer: () => HookAnswer, privateOnes: 'yes' | 'no') {
    const folder = folderOf();
    const hook = await openWebhook(answer);
    undo.push(hook.stop);
    await addDampHouse(folder, 0, hook.url);
    const box = await openMailBox();
    undo.push(box.stop);
    const env = { SMTP_URL: box.url, WEBHOOKS_TO_PRIVATE: privateOnes };
    return { hook, box, ...(await started(folder, env)) };
  }
  const ofHook = async (client: ReturnType<typeof api>) =>
    (await messages(client)).filter((one) => one.channel === 'webhook');

  test('that hangs holds nobody’s mail, and is called so', async () => {
    const { hook, box, client } = await told(() => 'hang', 'yes');
    await eventually('the hook was asked', async () => hook.got.length > 0);
    await eventually('the mail', async () => box.mails.length > 0);
    const late = await eventually('given up for now', async () =>
      (await ofHook(client)).find((one) => one.lastError !== null),
    );
    expect(late).toMatchObject({ state: 'waiting', lastError: 'it did not answer within 10 s' });
    // The mail had gone out by then. The newest line comes first.
    const { log } = await client.get<DeliveryLog>('/api/messages');
    const kinds = log.map(({ kind }) => kind).toReversed();
    expect(kinds).toContain('sent');
    expect(kinds.indexOf('sent')).toBeLessThan(kinds.indexOf('failed'));
  });

  test('that answers 500 is asked once and not for each message; what waits is told with why', async () => {
    const { hook, client } = await told(() => ({ status: 500 }), 'yes');
    const failed = await eventually('a failure', async () =>
      (await ofHook(client)).find((one) => one.lastError !== null),
    );
    expect(failed).toMatchObject({ state: 'waiting', lastError: 'it answered 500' });
    await eventually('each tried once', async () => hook.got.length === dampRules.length);
    expect(new Set(hook.got.map((one) => one.id)).size).toBe(dampRules.length);
  });

  test('whose address leads into a private network is refused, told, and never asked', async () => {
    const { hook, client } = await told(() => ({ status: 204 }), 'no');
    const all = await eventually('refusals', async () => {
      const some = await ofHook(client);
      return some.length === dampRules.length && some.every((one) => one.state === 'refused') ? some : null;
    });
    for (const one of all) expect(one.lastError).toContain('private network');
    expect(hook.got).toEqual([]);
  });

  test('that redirects into a private network is not followed', async () => {
    const inner = await openWebhook();
    undo.push(inner.stop);
    const location = inner.url;
    const { client } = await told(() => ({ status: 307, headers: { location } }), 'yes');
    const refused = await eventually('a refusal', async () =>
      (await ofHook(client)).find((one) => one.state === 'refused'),
    );
    expect(refused.lastError).toContain('redirects are not followed');
    expect(inner.got).toEqual([]);
  });
});

test('one click ends the messages (RFC 8058): the POST its header asks for, and nothing else does', async () => {
  const folder = folderOf();
  await addDampHouse(folder, 0, null);
  const box = await openMailBox();
  undo.push(box.stop);
  const { service, client } = await started(folder, {
    SMTP_URL: box.url,
    PUBLIC_URL: 'https://pianos.example',
  });
  await eventually('the mail', async () => box.mails.length > 0);
  const raw = (box.raw[0] ?? '').replaceAll(/\r\n[ \t]+/g, ' ');
  expect(raw).toMatch(/^List-Unsubscribe-Post: List-Unsubscribe=One-Click\r?$/m);
  const [, link = ''] = /^List-Unsubscribe: <(https:\/\/[^>]+)>\r?$/m.exec(raw) ?? [];
  expect(link).toMatch(/^https:\/\/pianos\.example\/unsubscribe\//);
  const { pathname } = new URL(link);
  const unsubscribedMs = async () => (await client.get<Person[]>('/api/people'))[0]?.unsubscribedMs;
  // Programs that look at links before people do end nothing.
  expect((await fetch(`${service.url}${pathname}`)).status).toBe(200);
  expect(await unsubscribedMs()).toBeNull();
  const post = {
    method: 'POST',
    headers: { 'content-type': 'application/x-www-form-urlencoded' },
    body: 'List-Unsubscribe=One-Click',
    redirect: 'error',
  } as const;
  expect((await fetch(`${service.url}${pathname}`, post)).status).toBe(200);
  expect(await unsubscribedMs()).toEqual(expect.any(Number));
});

test.skipIf(!hasMosquitto())(
  'notices over MQTT: retained for who comes later, and told anew to a broker that forgot them',
  async () => {
    const folder = folderOf();
    await addDampHouse(folder, 0, null);
    const broker = await startMosquitto();
    undo.push(broker.stop);
    const { client } = await started(folder, { NOTICES_MQTT_URL: `mqtt://127.0.0.1:${broker.port}` });
    const { id } = await client.get<{ id: string }>('/api/organisation');
    await eventually('notices', async () => (await client.get<Notice[]>('/api/notices')).length > 0);

    async function retained(): Promise<{ retain: boolean; rules: string[] } | null> {
      const late = await mqtt.connectAsync(`mqtt://127.0.0.1:${broker.port}`);
      try {
        return await new Promise((resolve) => {
          late.on('message', (topic, body, packet) => {
            expect(topic).toBe(`notices/${id}`);
            const open = JSON.parse(body.toString()) as Notice[];
            resolve({ retain: packet.retain, rules: open.map((one) => one.rule).sort() });
          });
          late.subscribe('notices/#', { qos: 1 });
          // Nothing retained is an answer too.
          setTimeout(() => resolve(null), 500);
        });
      } finally {
        await late.endAsync(true);
      }
    }
    const told = async () => {
      const now = await retained();
      // Heard live it says nothing of who comes later.
      return now?.retain && now.rules.length === dampRules.length ? now.rules : null;
    };
    expect(await eventually('the retained notices', told)).toEqual(dampRules);
    await broker.restart('SIGKILL');
    expect(await eventually('told anew', told, 30_000)).toEqual(dampRules);
  },
);

test.skipIf(!hasMosquitto())(
  'a broker for notices that hangs holds nobody, and is told once it goes on',
  async () => {
    const stores = await openStores(folderOf());
    undo.push(() => stores.stop());
    const { db } = stores;
    const viewer = await firstOrganisation(db, Date.now());
    const broker = await startMosquitto();
    undo.push(broker.stop);
    const url = `mqtt://127.0.0.1:${broker.port}`;
    const publisher = noticePublisher(url, { error() {} });
    undo.push(publisher.stop);
    const reader = await mqtt.connectAsync(url);
    undo.push(() => reader.endAsync(true));
    const got: string[] = [];
    reader.on('message', (_topic, body) => void got.push(body.toString()));
    await reader.subscribeAsync('notices/#', { qos: 1 });
    await eventually('the first word', async () => {
      await publisher.publish(db, viewer);
      return got.includes('[]');
    });
    broker.signal('SIGSTOP');
    const id = randomUUID();
    const words = { place: 'Salon', what: 'It is damp.', why: '', to_do: '', minutes: 0, evidence: '{}' };
    await db
      .insertInto('notice')
      .values({
        ...{ id, organisation_id: viewer.organisationId, rule: 'rust', severity: 1, state: 'open', ...words },
        ...{ subject_id: id, instrument_id: null, sensor_id: null, venue_id: null, not_before_ms: null },
        ...{ began_ms: Date.now(), over_ms: null },
      })
      .execute();
    // The watch waits for this: nothing was taken yet, and nothing may hang on it.
    await publisher.publish(db, viewer);
    expect(got).toHaveLength(1);
    broker.signal('SIGCONT');
    await eventually('the notice', async () => got.at(-1)?.includes(id) ?? false);
  },
);

test('settings that contradict each other end the start with a sentence that names the field', async () => {
  const folder = folderOf();
  const stores = await openStores(folder);
  const viewer = await firstOrganisation(stores.db, Date.now());
  const at = {
    organisation_id: viewer.organisationId,
    scope: 'organisation',
    scope_id: viewer.organisationId,
  };
  // As a hand in the database, or an older version, would have left them.
  await stores.db
    .insertInto('setting')
    .values([
      { ...at, name: 'board begins', value: 0.4 },
      { ...at, name: 'board ends', value: 0.6 },
    ])
    .execute();
  await stores.stop();
  const { code, said } = failingStart({ DATA_DIR: folder, PORT: '0', MQTT_PORT: '0' });
  expect(code).toBe(1);
  expect(said).toContain('board ends: must be below 0.4 (board begins), else a notice could not end');
  expect(said.trim().split('\n')).toHaveLength(1);
});

test('what is typed as a setting is refused by its field, and what was set stays', async () => {
  const { client } = await started(folderOf(), {});
  const { id } = await client.get<{ id: string }>('/api/organisation');
  for (const [values, sentence] of [
    [{ 'damp ends': 61 }, 'damp ends: must be below 60 (damp begins)'],
    [{ 'swing day': 20 }, 'swing week: must be at least 20 (swing day)'],
    [{ 'pins end': 29 }, 'pins end: must be above 30 (pins begin)'],
  ] as const) {
    const refused = await client.ask('PUT', `/api/settings/organisation/${id}`, { values });
    expect(refused.status).toBe(409);
    expect(JSON.stringify(refused.body)).toContain(sentence);
  }
  const unknown = await client.ask('PUT', `/api/settings/venue/${randomUUID()}`, { values: {} });
  expect(unknown.status).toBe(404);
});
