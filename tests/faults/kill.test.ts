/**
 * kill -9 of the real service in the middle of a storm, again and again, on one data folder. Every acknowledged reading
 * must be there afterwards, none twice; what was not acknowledged is sent again, as a gateway would.
 */
import path from 'node:path';
import Database from 'better-sqlite3';
import { expect, test } from 'vitest';
import { openReadings } from '../../ingest/index.ts';
import { addGateway, startService, temporaryFolder } from '../support/service.ts';
import { type Counts, countShelf, tellFault } from './shelf.ts';
import { Storm } from './storm.ts';

/** More of them by SOAK_KILLS. */
const kills = Number(process.env.SOAK_KILLS ?? 20);

test(`${kills} kills in a row lose nothing that was acknowledged and double nothing`, {
  timeout: 60_000 + kills * 30_000,
}, async () => {
  const folder = temporaryFolder();
  try {
    const { user, password } = addGateway(folder.path, 'attic');
    const storm = new Storm();
    for (let kill = 0; kill < kills; kill += 1) {
      const service = await startService(folder.path, { LOG_LEVEL: 'info' });
      // A different moment each time: between a handful and some thousand acknowledgements in.
      const moment = 5 + ((kill * 7_919) % 2_003);
      let killed: Promise<unknown> = Promise.resolve();
      await storm.rage(
        { port: service.mqttPort, user, password },
        {
          enough(count) {
            if (count < moment) return false;
            killed = service.kill('SIGKILL');
            return true;
          },
        },
      );
      await killed;
    }

    const readingsFile = path.join(folder.path, 'readings.db');
    const look = async (): Promise<Counts> => {
      const db = new Database(readingsFile, { readonly: true });
      expect(db.pragma('integrity_check', { simple: true })).toBe('ok');
      db.close();
      const store = openReadings(readingsFile);
      const counts = await countShelf(store, storm);
      await store.stop();
      return counts;
    };

    tellFault(`kill -9 of the service, ${kills} times`, await look(), `${storm.published} messages`);
    expect(storm.acknowledged.size).toBeGreaterThan(kills * 100);

    // Once more without a kill: what was left is sent again, and then everything is there exactly once.
    const service = await startService(folder.path);
    await storm.rage({ port: service.mqttPort, user, password }, { sendNew: false });
    await service.kill('SIGTERM');
    const { acknowledged, stored } = await look();
    expect([acknowledged, stored]).toEqual([storm.sent, storm.sent]);
  } finally {
    folder.remove();
  }
});
