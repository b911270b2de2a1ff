/**
 * Two years of a real logger's file: imported by the command a person uses, served as the moisture of a board.
 * Data: TRH-database, house 3 indoor 1, 2010-2012, CC BY 4.0.
 */
import { existsSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import type { Climate } from '../../server/contract/index.ts';
import { eventually, manage } from '../support/service.ts';
import { serviceStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';

const file = path.resolve(
  import.meta.dirname,
  '../../../shared/datasets/indoor-climate-fi/house3-indoor1.csv',
);
const present = existsSync(file);
if (!present) console.warn(`skipped: the open data set is not here (${path.basename(file)})`);
const urn = 'urn:dev:mac:0200000000dd01';

// Each command is a process that reads everything before it says anything.
describe.skipIf(!present)('a logger file', { timeout: 180_000 }, () => {
  const stage = standing(serviceStage);

  const importIt = (timeZone = 'UTC+2', from = file) =>
    manage(stage.folder, [
      ...['import', '--file', from, '--sensor', urn],
      ...['--time-column', 't_UTC+2', '--time-zone', timeZone],
    ]);

  test('imports whole beside the running service, and a second time as duplicates', () => {
    expect(importIt()).toMatchObject({
      code: 0,
      out: expect.stringContaining('rows: 14257\nstored: 28514\n'),
    });
    expect(importIt().out).toMatch(/stored: 0\nduplicates: 28514\nconflicts: 0\nrefused rows: 0/);
  });

  test('its board-moisture course is served', async () => {
    const { roomId, instrumentId } = await stage.client.house();
    await eventually('the sensor is known', async () =>
      (await stage.client.sensors()).sensors.find((one) => one.urn === urn),
    );
    await stage.client.placeInRoom(urn, roomId, Date.UTC(2010, 0, 1));
    const query = `from=${Date.UTC(2010, 10, 23)}&to=${Date.UTC(2012, 6, 1)}&points=600`;
    const climate = await stage.client.get<Climate>(`/api/instruments/${instrumentId}/climate?${query}`);
    const known = climate.board.moisturePct.filter((one) => one !== null);
    expect(known.length / climate.timesMs.length).toBeGreaterThan(0.98);
    // A heated Nordic house: dry in late winter, moister in late summer.
    const at = (ms: number) =>
      climate.board.moisturePct[climate.timesMs.findIndex((timeMs) => timeMs >= ms)] ?? Number.NaN;
    expect(at(Date.UTC(2011, 1, 20))).toBeLessThan(at(Date.UTC(2011, 7, 20)) - 2);
    expect(Math.min(...known)).toBeGreaterThan(2);
    expect(Math.max(...known)).toBeLessThan(15);
  });

  test('what is missing is said', () => {
    expect(manage(stage.folder, ['import', '--file', file])).toMatchObject({
      code: 1,
      said: expect.stringContaining('--sensor'),
    });
    const nowhere = importIt('UTC', '/nowhere.csv');
    expect(nowhere.code).toBe(1);
    expect(nowhere.said.trim().split('\n')).toHaveLength(1);
    expect(importIt('Nowhere/Town')).toMatchObject({
      code: 1,
      said: expect.stringContaining('Nowhere/Town'),
    });
  });
});
