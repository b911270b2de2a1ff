/** A webhook and what it must not reach: signed, tried again under one key, never redirected or led into a private network. */
import { createHmac, randomUUID } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import { firstOrganisation } from '../../server/registry/organisations.ts';
import { openStores } from '../../server/services.ts';
import { deliver, takeUpCutOff } from '../../server/watch/notify/deliver.ts';
import { putOutgoing } from '../../server/watch/notify/outgoing.ts';
import { webhookCourier } from '../../server/watch/notify/webhook.ts';
import { temporaryFolder } from '../support/service.ts';
import { openWebhook } from '../support/webhook.ts';

describe('a webhook', () => {
  async function stage(url: string, allowPrivate: boolean) {
    const folder = temporaryFolder();
    const stores = await openStores(folder.path);
    const { db } = stores;
    let nowMs = Date.parse('2026-02-01T10:00:00Z');
    const viewer = await firstOrganisation(db, nowMs);
    const webhookId = randomUUID();
    const secret = 'a secret of some length';
    await db
      .insertInto('webhook')
      .values({
        id: webhookId,
        organisation_id: viewer.organisationId,
        url,
        secret,
        told_seq: 0,
        created_ms: nowMs,
      })
      .execute();
    const body = JSON.stringify({ event: 'begins', words: 'Größe “7” – ä' });
    const message = {
      organisationId: viewer.organisationId,
      channel: 'webhook',
      kind: 'begins',
      webhookId,
      address: url,
      because: 'a test',
      body,
    } as const;
    const id = await putOutgoing(db, message, nowMs);
    const courier = webhookCourier(db, { allowPrivate });
    return {
      db,
      id,
      secret,
      body,
      pass(ms: number) {
        nowMs += ms;
      },
      go: () => deliver(db, [courier], () => nowMs),
      row: () => db.selectFrom('outgoing').selectAll().where('id', '=', id).executeTakeFirstOrThrow(),
      async stop() {
        await stores.stop();
        folder.remove();
      },
    };
  }

  test('is signed over time and body, as a few independent lines find', async () => {
    const there = await openWebhook(() => ({ status: 204 }));
    const here = await stage(there.url, true);
    await here.go();
    const [one] = there.got;
    const time = one?.headers['crownwatch-time'];
    const mine = createHmac('sha256', here.secret)
      .update(`${time}.`)
      .update(one?.body ?? '')
      .digest('hex');
    expect(one?.headers['crownwatch-signature']).toBe(mine);
    expect(one?.headers['idempotency-key']).toBe(here.id);
    expect(JSON.parse(one?.body ?? '')).toEqual(JSON.parse(here.body));
    expect((await here.row()).state).toBe('sent');
    await here.stop();
    await there.stop();
  });

  test('that answers 500 is tried again with growing pauses under the same key, and called stuck after days', async () => {
    const there = await openWebhook(() => ({ status: 500 }));
    const here = await stage(there.url, true);
    for (let hour = 0; hour < 4 * 24; hour++) {
      await here.go();
      here.pass(3_600_000);
    }
    const row = await here.row();
    expect(row).toMatchObject({ state: 'stuck', last_error: 'it answered 500' });
    expect(row.attempts).toBeLessThan(25);
    expect(new Set(there.got.map((one) => one.headers['idempotency-key']))).toEqual(new Set([here.id]));
    await here.stop();
    await there.stop();
  });

  test('that redirects is refused, and the target never asked', async () => {
    const inner = await openWebhook(() => ({ status: 200 }));
    const there = await openWebhook(() => ({ status: 302, headers: { location: inner.url } }));
    const here = await stage(there.url, true);
    await here.go();
    expect((await here.row()).state).toBe('refused');
    expect(inner.got).toEqual([]);
    await here.stop();
    await there.stop();
    await inner.stop();
  });

  test.each([['loopback'], ['a name that resolves to loopback']])(
    'to %s is refused unless configuration allows it',
    async (which) => {
      const there = await openWebhook(() => ({ status: 200 }));
      const url = which === 'loopback' ? there.url : there.url.replace('127.0.0.1', 'localhost');
      const here = await stage(url, false);
      await here.go();
      expect(await here.row()).toMatchObject({
        state: 'refused',
        last_error: 'refused: the address leads into a private network',
      });
      expect(there.got).toEqual([]);
      await here.stop();
      await there.stop();
    },
  );

  test.each([
    'http://10.1.2.3/',
    'http://169.254.169.254/latest',
    'http://[::1]:9/',
    'http://[::ffff:127.0.0.1]:9/',
    'http://[fd00::1]/',
    'http://0x7f.1/',
  ])('to %s is refused', async (url) => {
    const here = await stage(url, false);
    await here.go();
    expect((await here.row()).state).toBe('refused');
    await here.stop();
  });

  test('whose sending was cut off goes out once more under the same key, and the log says so', async () => {
    const there = await openWebhook(() => ({ status: 200 }));
    const here = await stage(there.url, true);
    await here.db.updateTable('outgoing').set({ state: 'sending', attempts: 1 }).execute();
    expect(await here.go()).toBe(0);
    expect(await takeUpCutOff(here.db, Date.parse('2026-02-01T10:00:00Z'))).toBe(1);
    await here.go();
    expect(there.got).toHaveLength(1);
    const log = await here.db.selectFrom('delivery').select(['kind', 'sentence']).orderBy('seq').execute();
    expect(log.map((one) => one.kind)).toEqual(['made', 'cut off', 'attempt', 'sent']);
    expect(log[1]?.sentence).toContain('once more under the same id');
    await here.stop();
    await there.stop();
  });
});
