/** What is set aside, by gateway: counted and shown to its own organisation, and what came before a gateway was added is its own. */
import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { createPipeline, type RefusalReason } from '../../ingest/index.ts';
import { addGateway, gatewaysOf } from '../../server/registry/gateways.ts';
import { firstOrganisation } from '../../server/registry/organisations.ts';
import { refusedOf, refusedTallies, seeRefused } from '../../server/registry/refused.ts';
import { replayRefused } from '../../server/registry/replay.ts';
import { gatewaysNow, setAsideMessage, setAsideMessages } from '../../server/registry/set-aside.ts';
import type { Viewer } from '../../server/registry/viewer.ts';
import { openStores, type Stores } from '../../server/services.ts';
import { temporaryFolder } from '../support/service.ts';

const nowMs = Date.UTC(2026, 2, 1, 12);
let folder: ReturnType<typeof temporaryFolder>;
let stores: Stores;
let viewer: Viewer;

beforeEach(async () => {
  folder = temporaryFolder();
  stores = await openStores(folder.path);
  viewer = await firstOrganisation(stores.db, nowMs);
});
afterEach(async () => {
  await stores.stop();
  folder.remove();
});

const aside = (
  topic: string,
  reason: RefusalReason,
  payload: string | Uint8Array,
  gateway: string | null = null,
  receivedMs = nowMs,
) =>
  refusedOf(stores.db).setAside([
    {
      organisation: gateway === null ? null : viewer.organisationId,
      ...{ gateway, receivedMs, topic, reason, sentence: 'No.' },
      payload: typeof payload === 'string' ? new TextEncoder().encode(payload) : payload,
    },
  ]);
const pack = JSON.stringify([{ n: 'a:humidity', u: '%RH', v: 44 }]);

test('what came for a name before it was added is counted, shown and read with it; a longer name is another’s', async () => {
  const { db, store } = stores;
  await aside('readings/attic', 'unknown-gateway', pack);
  await aside('readings/attic/east', 'unknown-gateway', pack);
  await aside('readings/attic2', 'unknown-gateway', pack);
  expect(await gatewaysNow(db, viewer)).toEqual([]);
  expect(await setAsideMessages(db, viewer, { gateway: 'attic' })).toEqual([]);
  await addGateway(db, viewer, 'attic', nowMs);
  expect(await gatewaysNow(db, viewer)).toEqual([{ name: 'attic', profile: { kind: 'senml' }, setAside: 2 }]);
  const shown = await setAsideMessages(db, viewer, { gateway: 'attic' });
  expect(shown.map(({ topic, text, whole }) => [topic, text, whole])).toEqual([
    ['readings/attic/east', pack, true],
    ['readings/attic', pack, true],
  ]);
  const gateway = await gatewaysOf(db).byName('attic');
  if (!gateway) throw new Error('no gateway');
  const pipeline = createPipeline({ store, refused: refusedOf(db) });
  expect(await replayRefused(db, gateway, pipeline, () => nowMs)).toMatchObject({ read: 2, left: 0 });
  expect((await gatewaysNow(db, viewer))[0]?.setAside).toBe(0);
  await pipeline.stop();
});

test('bytes that are no text, a letter cut in two at the end, and another organisation’s', async () => {
  const { db } = stores;
  await addGateway(db, viewer, 'attic', nowMs);
  const { id = '' } = (await gatewaysOf(db).byName('attic')) ?? {};
  await aside('readings/attic', 'not-json', new Uint8Array([0xff, 0xfe, 0x00]), id);
  await aside('readings/attic', 'not-json', `${'x'.repeat(19_999)}ä${'y'.repeat(10)}`, id);
  await aside('readings/attic', 'out-of-range', pack, id);
  const shown = await setAsideMessages(db, viewer, { gateway: 'attic', reason: 'not-json' });
  expect(shown.map(({ text, whole, bytes }) => [text?.length ?? null, whole, bytes])).toEqual([
    [19_999, false, 20_011],
    [null, true, 3],
  ]);
  const stranger = { organisationId: randomUUID() };
  expect(await setAsideMessages(db, stranger, {})).toEqual([]);
  await expect(setAsideMessage(db, stranger, shown[0]?.id ?? 0)).rejects.toThrow('no longer set aside');
  expect((await setAsideMessage(db, viewer, shown[1]?.id ?? 0)).payload).toHaveLength(3);
});

test('what would give nothing stays; attempts and what was retained are not read again; counts fall by what was read', async () => {
  const { db, store } = stores;
  await addGateway(db, viewer, 'attic', nowMs);
  const attic = await gatewaysOf(db).byName('attic');
  if (!attic) throw new Error('no gateway');
  await aside('readings/attic/hall/rh', 'not-senml', '44', attic.id);
  await aside('readings/attic/hall/temp', 'not-senml', '20.5', attic.id);
  await aside('readings/attic/hall/rh', 'retain', '99', attic.id);
  await aside('mqtt user attic at 10.0.0.7', 'will', '', attic.id);
  const counts = async () => {
    const rows = await refusedTallies(db, viewer);
    return Object.fromEntries(rows.map(({ reason, count }) => [reason, count]));
  };
  expect(await counts()).toEqual({ 'not-senml': 2, retain: 1, will: 1 });
  expect((await gatewaysNow(db, viewer))[0]?.setAside).toBe(2);
  expect((await setAsideMessages(db, viewer, { gateway: 'attic' })).map(({ reason }) => reason)).toEqual([
    'not-senml',
    'not-senml',
  ]);

  const pipeline = createPipeline({ store, refused: refusedOf(db) });
  const readBy = (names: Record<string, { quantity: 'humidityPct' | 'temperatureC' }>) =>
    replayRefused(
      db,
      {
        ...attic,
        profile: { kind: 'plain-value', topic: 'readings/+/{sensor}/{quantity}', quantities: names },
      },
      pipeline,
      () => nowMs,
    );
  const rh = { rh: { quantity: 'humidityPct' } } as const;
  // Its temperature is written otherwise than the profile says.
  expect(await readBy({ ...rh, temperature: { quantity: 'temperatureC' } })).toMatchObject({
    ...{ read: 1, left: 1, stored: 1 },
    sentence: expect.stringContaining('Nothing of it is a quantity'),
  });
  expect(await counts()).toEqual({ 'not-senml': 1, retain: 1, will: 1 });
  expect(await readBy({ ...rh, temp: { quantity: 'temperatureC' } })).toMatchObject({
    ...{ read: 1, left: 0, stored: 1, sentence: null },
  });
  expect(await counts()).toEqual({ retain: 1, will: 1 });
  const { humidityPct, temperatureC } = await store.read(
    { organisation: viewer.organisationId, sensor: 'hall' },
    0,
    9e12,
  );
  expect([humidityPct, temperatureC]).toEqual([[44], [20.5]]);
  await pipeline.stop();
});

test('what somebody has looked at asks for a look again when more of it comes; another organisation marks nothing', async () => {
  const { db } = stores;
  for (const name of ['attic', 'porch']) await addGateway(db, viewer, name, nowMs);
  const { id = '' } = (await gatewaysOf(db).byName('attic')) ?? {};
  const other = (await gatewaysOf(db).byName('porch'))?.id;
  await aside('readings/attic', 'not-json', 'x', id);
  await aside('readings/porch', 'not-json', 'x', other);
  await aside('mqtt user nobody at 10.0.0.7', 'wrong-password', '');
  const seen = async () => {
    const rows = await refusedTallies(db, viewer);
    return Object.fromEntries(rows.map((one) => [`${one.gateway} ${one.reason}`, one.seen]));
  };
  const unread = { 'attic not-json': false, 'porch not-json': false, 'null wrong-password': false };
  expect(await seen()).toEqual(unread);
  const attic = { gateway: 'attic', reason: 'not-json' };
  const marked = await seeRefused(db, viewer, { ...attic, untilMs: nowMs });
  expect(marked).toMatchObject({ gateway: 'attic', count: 1, seen: true });
  await seeRefused(db, viewer, { gateway: null, reason: 'wrong-password', untilMs: nowMs });
  expect(await seen()).toEqual({ ...unread, 'attic not-json': true, 'null wrong-password': true });

  // What came while it was looked at was not seen.
  await aside('readings/attic', 'not-json', 'y', id, nowMs + 1);
  await seeRefused(db, viewer, { ...attic, untilMs: nowMs });
  expect(await seen()).toEqual({ ...unread, 'null wrong-password': true });
  await seeRefused(db, viewer, { gateway: null, reason: 'wrong-password', untilMs: null });
  expect(await seen()).toEqual(unread);

  const stranger = { organisationId: randomUUID() };
  await expect(seeRefused(db, stranger, { ...attic, untilMs: nowMs + 1 })).rejects.toThrow(
    'nothing is set aside',
  );
  expect(await seen()).toEqual(unread);
});
