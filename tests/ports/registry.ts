/**
 * One suite for what ingest asks of whoever runs it (who a gateway is, to keep what was set aside, to remember a few
 * numbers, to note what was heard), on both adapters: in the process, and over HTTP as a worker has it.
 */
import { randomBytes } from 'node:crypto';
import path from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import {
  type Gateways,
  type Heard,
  type Memory,
  memoryInFile,
  type Profile,
  type Refused,
  type SetAside,
} from '../../ingest/index.ts';
import type { Database } from '../../server/db/database.ts';
import {
  addGateway,
  gatewaysOf,
  removeGateway,
  renewSecrets,
  setProfile,
} from '../../server/registry/gateways.ts';
import { type Hearing, hearingOf } from '../../server/registry/heard-by.ts';
import { firstOrganisation } from '../../server/registry/organisations.ts';
import { refusedOf } from '../../server/registry/refused.ts';
import type { Viewer } from '../../server/registry/viewer.ts';
import { openStores } from '../../server/services.ts';
import { temporaryFolder } from '../support/service.ts';

/** What stands behind the ports, in this process. */
export interface Registry {
  readonly gateways: Gateways;
  readonly refused: Refused;
  readonly memory: Memory;
  readonly hearing: Hearing;
}

/** The ports as ingest has them. */
export interface Asked {
  readonly gateways: Pick<Gateways, 'byName'>;
  readonly refused: Refused;
  readonly memory: Memory;
  report(batch: readonly Heard[]): Promise<void>;
}

const nowMs = Date.UTC(2026, 0, 5, 12);

/** @param reach makes the ports of a registry, and what undoes that */
export function describeRegistry(
  name: string,
  reach: (registry: Registry) => Promise<{ asked: Asked; stop(): Promise<void> }>,
): void {
  describe(`what ingest asks, ${name}`, () => {
    let db: Database;
    let viewer: Viewer;
    let hearing: Hearing;
    let asked: Asked;
    const undo: (() => unknown)[] = [];
    beforeEach(async () => {
      const folder = temporaryFolder();
      undo.push(folder.remove);
      const stores = await openStores(folder.path);
      undo.push(() => stores.stop());
      db = stores.db;
      viewer = await firstOrganisation(db, nowMs);
      hearing = hearingOf(db, () => nowMs);
      const memory = memoryInFile(path.join(folder.path, 'brokers.json'));
      const reached = await reach({ gateways: gatewaysOf(db), refused: refusedOf(db), memory, hearing });
      undo.push(() => reached.stop());
      asked = reached.asked;
    });
    afterEach(async () => {
      for (const one of undo.splice(0).reverse()) await one();
    });

    describe('gateways', () => {
      test('by name: nobody, a new one at once, gone at once', async () => {
        const named = (one: string) => asked.gateways.byName(one);
        expect(await named('attic')).toBeNull();
        await addGateway(db, viewer, 'attic.2_b-c', nowMs);
        const found = await named('attic.2_b-c');
        expect(found).toMatchObject({ name: 'attic.2_b-c', organisation: viewer.organisationId });
        expect(found?.id).toMatch(/^[0-9a-f-]{36}$/);
        expect(found?.profile).toBeUndefined();
        await renewSecrets(db, viewer, 'attic.2_b-c', nowMs + 1);
        expect((await named('attic.2_b-c'))?.id).toBe(found?.id);
        await removeGateway(db, viewer, 'attic.2_b-c');
        expect(await named('attic.2_b-c')).toBeNull();
      });
      test.each(['', '.', '..', 'a/b', 'ä ö', '%2e', '?x=1', "' or 1=1 --", '\u0000', 'x'.repeat(500)])(
        'a name nobody can have is nobody: %j',
        async (odd) => {
          await addGateway(db, viewer, 'attic', nowMs);
          expect(await asked.gateways.byName(odd)).toBeNull();
        },
      );
      test('how it is read comes along, as it was set last', async () => {
        await addGateway(db, viewer, 'attic', nowMs);
        const profile = {
          kind: 'mapped',
          sensor: '/device~1id',
          values: [{ quantity: 'temperatureC', at: '/t', unit: 'degF' }],
        } satisfies Profile;
        await setProfile(db, viewer, 'attic', profile);
        expect((await asked.gateways.byName('attic'))?.profile).toMatchObject(profile);
        await setProfile(db, viewer, 'attic', null);
        expect((await asked.gateways.byName('attic'))?.profile).toBeUndefined();
      });
    });

    describe('what is set aside', () => {
      const one = (changes: Partial<SetAside> = {}): SetAside => ({
        ...{ organisation: viewer.organisationId, gateway: null, receivedMs: nowMs, topic: 'readings/attic' },
        ...{ reason: 'not-json', sentence: 'It is no JSON.', payload: new Uint8Array() },
        ...changes,
      });
      const kept = () => db.selectFrom('refused').selectAll().orderBy('id').execute();
      test('every byte, every sign, in order; nobody named stays nobody', async () => {
        const all = Uint8Array.from({ length: 256 }, (_, at) => at);
        await asked.refused.setAside([
          one({ payload: all, topic: 'readings/ä "quoted" \u{1F3B9}\n' }),
          one({ organisation: null, reason: 'unknown-gateway', sentence: 'Nobody “knows” it.' }),
        ]);
        const rows = await kept();
        expect(rows.map(({ topic, sentence }) => [topic, sentence])).toEqual([
          ['readings/ä "quoted" \u{1F3B9}\n', 'It is no JSON.'],
          ['readings/attic', 'Nobody “knows” it.'],
        ]);
        expect([...(rows[0]?.payload ?? [])]).toEqual([...all]);
        expect(rows[1]).toMatchObject({ organisation_id: null, gateway: null, received_ms: nowMs });
      });
      test('nothing; a thousand; megabytes together and in one', async () => {
        await asked.refused.setAside([]);
        expect(await kept()).toEqual([]);
        const large = [400_000, 900_000, 900_000, 5_000_000].map((bytes) => randomBytes(bytes));
        await asked.refused.setAside([
          ...Array.from({ length: 1_000 }, (_, at) => one({ topic: `t/${'x'.repeat(2_000)}/${at}` })),
          ...large.map((payload) => one({ payload })),
        ]);
        const rows = await kept();
        expect(rows).toHaveLength(1_004);
        expect(rows.slice(1_000).map(({ payload }, at) => large[at]?.equals(payload))).toEqual([
          ...Array<boolean>(4).fill(true),
        ]);
        const { count } = await db.selectFrom('refused_tally').select('count').executeTakeFirstOrThrow();
        expect(count).toBe(1_004);
      });
      test('what cannot be kept is not said to be', async () => {
        await db.schema.dropTable('refused').execute();
        await expect(asked.refused.setAside([one()])).rejects.toThrow();
      });
    });

    describe('a few numbers', () => {
      test.each(['start of broker.example:1883', 'a/b?c#d%e', 'ä \u{1F3B9}', '..'])(
        'under any name: %s',
        async (key) => {
          const { memory } = asked;
          expect(await memory.recall(key)).toBeNull();
          for (const value of [0, -1, 1_768_478_400_123, 0.25]) {
            await memory.keep(key, value);
            expect(await memory.recall(key)).toBe(value);
          }
          expect(await memory.recall(`${key} `)).toBeNull();
        },
      );
    });

    describe('what was heard', () => {
      test('stands under whose the gateway is; of nobody, nothing', async () => {
        await addGateway(db, viewer, 'attic', nowMs);
        const gateway = (await asked.gateways.byName('attic'))?.id ?? '';
        const heard: Heard = {
          ...{ gateway, sensor: 'urn:dev:mac:02', firstMs: nowMs - 5_000, lastMs: nowMs, messages: 6 },
          leastAgeMs: 1_500,
        };
        await asked.report([heard, { ...heard, gateway: 'nobody' }]);
        await asked.report([{ ...heard, messages: 1, leastAgeMs: 900 }]);
        await hearing.flush();
        expect(await db.selectFrom('heard_by').selectAll().execute()).toEqual([
          {
            ...{ organisation_id: viewer.organisationId, urn: 'urn:dev:mac:02', gateway_id: gateway },
            ...{ first_ms: nowMs - 5_000, last_ms: nowMs, least_age_ms: 900, age_since_ms: nowMs - 5_000 },
          },
        ]);
      });
      test('more than one request holds', async () => {
        await addGateway(db, viewer, 'attic', nowMs);
        const gateway = (await asked.gateways.byName('attic'))?.id ?? '';
        await asked.report(
          Array.from({ length: 2_500 }, (_, at) => ({
            ...{ gateway, sensor: `s${at}`, firstMs: nowMs, lastMs: nowMs, messages: 1, leastAgeMs: 0 },
          })),
        );
        await hearing.flush();
        expect(await db.selectFrom('heard_by').select('urn').execute()).toHaveLength(2_500);
      });
    });
  });
}
