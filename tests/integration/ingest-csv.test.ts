/** Files as loggers write them: columns, separators, decimal commas, clocks; and a second import that adds nothing. */
import { existsSync } from 'node:fs';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { DateTime } from 'luxon';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { type CsvImport, importCsv, openReadings, type TimeSeries } from '../../ingest/index.ts';
import { timeReader, zoneNamed } from '../../ingest/sources/csv-time.ts';

let folder: string;
let store: TimeSeries;
beforeEach(async () => {
  folder = await mkdtemp(path.join(tmpdir(), 'crownwatch-csv-'));
  store = openReadings(path.join(folder, 'readings.db'));
});
afterEach(async () => {
  await store.stop();
  await rm(folder, { recursive: true, force: true });
});

const id = { organisation: 'o', sensor: 'logger-7' };
async function importText(content: string | Buffer, more: Partial<CsvImport> = {}) {
  const file = path.join(folder, 'logger.csv');
  await writeFile(file, content);
  return importCsv({ file, ...id, timeZone: 'UTC', store, ...more });
}
async function rows() {
  const { timesMs, humidityPct, temperatureC } = await store.read(id, 0, 9e12);
  return timesMs.map((timeMs, at) => [new Date(timeMs).toISOString(), humidityPct[at], temperatureC[at]]);
}
const noon = '2026-01-15T12:00:00.000Z';

describe('columns', () => {
  test.each([
    ['Time,RH,T\n2026-01-15 12:00:00,41.5,20.25\n'],
    ['t_UTC+2,T,RH\n2026-01-15T12:00:00Z,20.25,41.5\n'],
    ['Datum;Temperatur [°C];Rel. Feuchte [%]\n15.01.2026 12:00;20,25;41,5\n'],
    ['date time\ttemperature (°C)\thumidity (%)\r\n2026/01/15 12:00\t20.25\t41.5\r\n'],
    ['"No","Timestamp","Temp, °C","RH, %"\n1,"2026-01-15 12:00:00","20.25","41.5"\n'],
    ['\ufefftime|rh|temp\n1768478400|41.5|20.25'],
    ['time,℃ temp,％rh\n2026-01-15 12:00,20.25,41.5\n'],
  ])('%j is understood without being told', async (content) => {
    const told = await importText(content);
    expect(told).toMatchObject({ rows: 1, stored: 2, refusedRows: 0, refused: [] });
    expect(await rows()).toEqual([[noon, 41.5, 20.25]]);
  });

  test('columns that are told are taken, and no other', async () => {
    const content = 'when,inside rh,outside rh,temp\n2026-01-15 12:00,41.5,80,20\n';
    await importText(content, { timeColumn: 'when', humidityColumn: 'inside rh' });
    expect(await rows()).toEqual([[noon, 41.5, null]]);
  });

  test('a file in UTF-16, as some loggers write it', async () => {
    await importText(Buffer.from('\ufeffTime;RH\r\n2026-01-15 12:00;41,5\r\n', 'utf16le'));
    expect(await rows()).toEqual([[noon, 41.5, null]]);
  });

  test.each([
    ['a,b\n1,2\n', {}, /Which column holds the time\? The file has “a”, “b”\./],
    ['time,b\n1,2\n', {}, /Which column holds the humidity or the temperature\?/],
    [
      'time,rh\n1,2\n',
      { humidityColumn: 'RH' },
      /There is no column “RH” for the humidity; the file has “time”, “rh”\./,
    ],
    ['time,rh\n1,2\n', { timeColumn: 'date' }, /There is no column “date” for the time/],
    ['time,rh\n1,2\n', { timeZone: 'Mars/Olympus' }, /The time zone “Mars\/Olympus” is not known/],
    ['time,rh\n1,2\n', { sensor: 'logger 7' }, /“logger 7” cannot be a sensor's name/],
    ['', {}, /is empty/],
  ])('%j is answered by one sentence', async (content, more, sentence) => {
    await expect(importText(content, more)).rejects.toThrow(sentence);
  });

  test('a column in degrees Fahrenheit is kept in °C', async () => {
    // Water boils at 212 °F and freezes at 32 °F; -40 is the same on both scales (common knowledge, no source).
    await importText(
      'time,temp °F\n2025-01-01 00:00:00,32\n2025-01-01 00:01:00,-40\n2025-01-01 00:02:00,72\n',
    );
    expect((await store.read(id, 0, 9e12)).temperatureC).toEqual([0, -40, 22.22]);
  });

  test('a file that is not there is said to be so', async () => {
    const file = path.join(folder, 'none.csv');
    await expect(importCsv({ file, ...id, timeZone: 'UTC', store })).rejects.toThrow(
      /none\.csv.* does not exist/,
    );
  });
});

describe('rows', () => {
  test('faulty ones are named by line; what is good of them and all others are kept', async () => {
    const content = [
      'time,rh,temp',
      '2026-01-15 12:00,41.5,20', // 2
      'yesterday,41.5,20', // 3
      '2026-01-15 12:10,140,20', // 4
      '2026-01-15 12:20,x,20', // 5
      '2026-01-15 12:30,,', // 6: nothing measured is no fault
      '1970-01-01 00:00,41.5,20', // 7
      '2126-01-15 12:00,41.5,20', // 8
      '2026-02-30 12:00,41.5,20', // 9
      '03/04/2026 12:00,41.5,20', // 10
      '2026-01-15 12:40', // 11: cut short
      '2026-01-15 12:50,42,NaN', // 12
    ].join('\n');
    const told = await importText(content);
    expect(told.rows).toBe(11);
    expect(told.refusedRows).toBe(7);
    expect(told.refused).toEqual([
      { line: 3, sentence: '“yesterday” is not a time; write YYYY-MM-DD HH:mm:ss.' },
      { line: 4, sentence: 'humidity 140 % is outside 0 to 100 %.' },
      { line: 5, sentence: 'humidity “x” is not a number.' },
      { line: 7, sentence: expect.stringMatching(/1970-01-01.* is before 2000/) },
      { line: 8, sentence: expect.stringMatching(/2126-01-15.* is more than 5 minutes ahead/) },
      { line: 9, sentence: '“2026-02-30 12:00” is not a date and time that exists.' },
      { line: 10, sentence: expect.stringMatching(/day first or month first/) },
    ]);
    expect(await rows()).toEqual([
      ['2026-01-15T12:00:00.000Z', 41.5, 20],
      ['2026-01-15T12:10:00.000Z', null, 20],
      ['2026-01-15T12:20:00.000Z', null, 20],
      ['2026-01-15T12:50:00.000Z', 42, null],
    ]);
  });

  test('a quote that is never closed is said, and does not take the file into memory', async () => {
    const content = `time,rh\n2026-01-15 12:00,41.5\n"2026-01-15 12:10,${'42\n'.repeat(100_000)}`;
    await expect(importText(content)).rejects.toThrow(/cannot be read as CSV: .*\.$/);
  });

  test('a second import adds nothing; a corrected value is a counted conflict', async () => {
    const content = 'time,rh\n2026-01-15 12:00,41.5\n2026-01-15 12:10,42\n';
    expect(await importText(content)).toMatchObject({ stored: 2, duplicates: 0, conflicts: 0 });
    expect(await importText(content)).toMatchObject({ stored: 0, duplicates: 2, conflicts: 0 });
    expect(await importText(content.replace('42', '43'))).toMatchObject({
      stored: 0,
      duplicates: 1,
      conflicts: 1,
    });
  });

  test('progress ends at the size of the file, and never steps back', async () => {
    const content = `time,rh\n${Array.from({ length: 5_000 }, (_, at) => `${1768478400 + at},41.5`).join('\n')}\n`;
    const steps: number[] = [];
    let total = 0;
    const told = await importText(content, {
      onProgress: (done, of) => {
        steps.push(done);
        total = of;
      },
    });
    expect(told.stored).toBe(5_000);
    expect(total).toBe(content.length);
    expect(steps.at(-1)).toBe(total);
    expect(steps).toEqual([...steps].sort((a, b) => a - b));
  });
});

describe('clocks', () => {
  test.each([
    ['UTC', 0],
    ['UTC+2', 120],
    ['GMT-3:30', -210],
    ['+02:00', 120],
    ['-0930', -570],
    ['Europe/Helsinki', 120],
  ])('the zone %s is %d minutes ahead in winter', (name, minutes) => {
    expect(timeReader(zoneNamed(name))('2026-01-15 12:00')).toBe(
      Date.UTC(2026, 0, 15, 12) - minutes * 60_000,
    );
  });

  test.each(['UTC+15', 'Central', '', '2'])('the zone %j is not known', (name) => {
    expect(() => zoneNamed(name)).toThrow(/is not known/);
  });

  test('an offset written with the time wins over the zone', () => {
    const read = timeReader(zoneNamed('Asia/Tokyo'));
    for (const text of ['2026-01-15T12:00:00Z', '2026-01-15 14:00+02:00', '2026-01-15T06:30:00-0530']) {
      expect(read(text)).toBe(Date.UTC(2026, 0, 15, 12));
    }
  });

  // Reference: luxon's own conversion (IANA time zone data), for every half hour.
  test.each([
    'Europe/Helsinki',
    'America/New_York',
    'Australia/Lord_Howe',
    'Africa/Casablanca',
    'Asia/Kathmandu',
  ])('the local times of two years in %s are those of luxon', (name) => {
    const read = timeReader(zoneNamed(name));
    for (let utcMs = Date.UTC(2024, 0, 1); utcMs < Date.UTC(2026, 0, 1); utcMs += 30 * 60_000) {
      const written = DateTime.fromMillis(utcMs, { zone: name }).toFormat('yyyy-MM-dd HH:mm:ss');
      // In order, so that the hour an autumn night shows twice is read both times.
      if (read(written) !== utcMs)
        expect.fail(`${written} of ${name} was read as ${read(written)}, not ${utcMs}`);
    }
  });

  test('a time that a spring night skipped is refused: the zone is wrong', () => {
    expect(timeReader(zoneNamed('Europe/Helsinki'))('2026-03-29 03:30')).toMatch(
      /does not exist in Europe\/Helsinki/,
    );
    expect(timeReader(zoneNamed('UTC+2'))('2026-03-29 03:30')).toBe(Date.UTC(2026, 2, 29, 1, 30));
  });
});

/** TRH-database, house 3 indoor 1, 2010-2012, CC BY 4.0: 14,257 hours at UTC+2. */
const openData = path.resolve(
  import.meta.dirname,
  '../../../shared/datasets/indoor-climate-fi/house3-indoor1.csv',
);
const present = existsSync(openData);
if (!present) console.warn('skipped: the open data set is not here (house3-indoor1.csv)');

test.skipIf(!present)('two years of a real logger', async () => {
  const told = await importCsv({ file: openData, ...id, timeZone: 'UTC+2', store });
  expect(told).toMatchObject({ rows: 14_257, stored: 28_514, duplicates: 0, conflicts: 0, refusedRows: 0 });
  const [first] = await rows();
  expect(first).toEqual(['2010-11-22T22:00:00.000Z', 36, 22.5]);
  expect((await importCsv({ file: openData, ...id, timeZone: 'UTC+2', store })).stored).toBe(0);
});
