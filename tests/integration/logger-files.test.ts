/** Loggers' files of several shapes: guessed, read in parts as if whole, and over HTTP stored once however often they come. */
import { DateTime } from 'luxon';
import { describe, expect, test } from 'vitest';
import { type CsvShape, guessShape, readCsvPart, titlesIn } from '../../ingest/index.ts';
import type { LoggerPreview, PartTaken, SensorsPage } from '../../server/contract/index.ts';
import { noText, partsOf } from '../../web/sensors/file/parts.ts';
import { eventually } from '../support/service.ts';
import { serviceStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';

const nowMs = Date.UTC(2026, 10, 25);
const read = (text: string, shape: CsvShape, firstLine = 1, beforeMs: number | null = null) =>
  readCsvPart({ text, firstLine, organisation: 'o', sensor: 's', shape, beforeMs }, nowMs);
const guessed = (text: string, timeZone = 'UTC') => {
  const { titles: _titles, sureOfDates: _sure, ...shape } = guessShape(text);
  return { ...shape, timeZone };
};

describe('shapes', () => {
  const expected = [
    { timeMs: Date.UTC(2026, 2, 14, 9, 30), humidityPct: 42.5, temperatureC: 20.8 },
    { timeMs: Date.UTC(2026, 2, 14, 9, 40), humidityPct: 42.25, temperatureC: 21 },
  ];
  test.each([
    [
      'ISO times, commas',
      'time,humidity,temperature\n2026-03-14 09:30:00,42.5,20.8\n2026-03-14 09:40:00,42.25,21',
    ],
    [
      'semicolons, decimal comma, points in dates',
      'Datum;Feuchte;Temperatur\n14.03.2026 09:30;42,5;20,8\n14.03.2026 09:40;42,25;21,0',
    ],
    [
      'tabulators, slashes, day first',
      'Date\tRH %\tTemp °C\n14/03/2026 09:30\t42.5\t20.8\n14/03/2026 09:40\t42.25\t21.0',
    ],
    [
      'month first, twice twelve hours',
      'Date,RH,Temp\n03/14/2026 09:30 AM,42.5,20.8\n03/14/2026 9:40:00 AM,42.25,21',
    ],
    ['two-digit years', 'Date,RH,Temp\n14/03/26 09:30,42.5,20.8\n14/03/26 09:40,42.25,21'],
    ['°F, told by the title', 'Time;RH;Temp (°F)\n2026-03-14 09:30;42.5;69.44\n2026-03-14 09:40;42.25;69.8'],
    [
      'words above the titles',
      'Serial;A-17\nStart;14.03.2026\n\nTime;RH;Temp\n2026-03-14 09:30;42.5;20.8\n2026-03-14 09:40;42.25;21',
    ],
    [
      'date and time of day apart',
      'Date;Time;RH;Temp\n14.03.2026;09:30:00;42,5;20,8\n14.03.2026;09:40:00;42,25;21,0',
    ],
    [
      'a number of the row in front, columns the other way round',
      'No,Temp,RH,Date time\n1,20.8,42.5,2026-03-14T09:30:00Z\n2,21,42.25,2026-03-14T09:40:00Z',
    ],
    [
      'seconds since 1970',
      `timestamp,humidity,temp\n${Date.UTC(2026, 2, 14, 9, 30) / 1000},42.5,20.8\n${Date.UTC(2026, 2, 14, 9, 40) / 1000},42.25,21`,
    ],
    [
      'a mark of Unicode in front, quotes, line ends of two',
      '\uFEFF"time","humidity","temperature"\r\n"2026-03-14 09:30:00","42.5","20.8"\r\n"2026-03-14 09:40:00","42.25","21"\r\n',
    ],
    [
      'words of another language, decimal comma',
      'Aika;Kosteus %;Lämpötila\n2026-03-14 09:30;42,5;20,8\n2026-03-14 09:40;42,25;21',
    ],
    [
      'what the logger computed of them in front',
      'Datum,Taupunkt °C,Luftfeuchtigkeit,Temperatur °C\n2026-03-14 09:30,7.4,42.5,20.8\n2026-03-14 09:40,7.5,42.25,21',
    ],
    ['a bare F', 'time,rh_pct,temp_f\n2026-03-14 09:30,42.5,69.44\n2026-03-14 09:40,42.25,69.8'],
    [
      'pm, half past nine in the evening before UTC',
      'Date,RH,Temp\n03/13/2026 09:30 PM,42.5,20.8\n03/13/2026 09:40 PM,42.25,21',
      'UTC-12',
    ],
  ])('%s', (_, text, timeZone = 'UTC') => {
    const { readings, refused } = read(text, guessed(text, timeZone));
    expect(refused).toEqual([]);
    expect(readings).toEqual(
      expected.map((one) => ({
        organisation: 'o',
        sensor: 's',
        ...one,
        temperatureC: expect.closeTo(one.temperatureC, 9),
      })),
    );
  });

  test('day and month both under thirteen: the way that goes on steadily, or said to be unsure', () => {
    const days = (dates: readonly string[]) =>
      `Date,RH\n${dates.map((date) => `${date} 10:00,45`).join('\n')}`;
    expect(guessShape(days(['03/04/2026', '04/04/2026', '05/04/2026']))).toMatchObject({
      dateOrder: 'dmy',
      sureOfDates: true,
    });
    expect(guessShape(days(['04/03/2026', '04/04/2026', '04/05/2026']))).toMatchObject({
      dateOrder: 'mdy',
      sureOfDates: true,
    });
    expect(guessShape(days(['04/03/2026', '04/03/2026']))).toMatchObject({ sureOfDates: false });
  });

  test('titles nobody knows: times tell themselves, and every other column is offered', () => {
    const text = [
      'Device A, firmware 1, site 2, hall',
      'Cuándo;Primero;Segundo',
      '14.03.2026 09:30;42,5;20,8',
      '14.03.2026 09:40;42,25;21,0',
    ].join('\n');
    const found = guessShape(text);
    expect(found).toMatchObject({
      delimiter: ';',
      titleLine: 2,
      time: 0,
      humidity: null,
      decimalComma: true,
    });
    expect(found.titles).toEqual(['Cuándo', 'Primero', 'Segundo']);
    // Told otherwise, titles and columns are those of the other sign.
    expect(guessShape(text, ',').titles).not.toContain('Primero');
    expect(titlesIn(text, { delimiter: ';', titleLine: 0 })).toEqual(['column 1', 'column 2', 'column 3']);
  });

  test('without titles no row is skipped, also where a later one has more cells', () => {
    const text = '2026-03-14 09:30,42.5\n2026-03-14 09:40,42.25,door opened\n2026-03-14 09:50,42';
    const shape = { ...guessed(text), humidity: 1 };
    expect(shape.titleLine).toBe(0);
    const { readings, refused } = read(text, shape);
    expect(refused).toEqual([]);
    expect(readings.map(({ humidityPct }) => humidityPct)).toEqual([42.5, 42.25, 42]);
  });

  test('what is no text at all is told so before it is looked at', async () => {
    expect(await noText(new Blob([]))).toContain('empty');
    expect(await noText(new Blob([new Uint8Array([0x50, 0x4b, 3, 4, 20, 0])]))).toContain(
      'save its sheet as CSV',
    );
    expect(await noText(new Blob(['PK;RH\n']))).toBeNull();
  });

  test('what is no such file is guessed at without falling over', () => {
    for (const text of ['', '\n\n', '{"a":1}', '\u0000\u0001', 'a', ';;;;\n;;;', '"never closed\n1,2,3']) {
      expect(() => guessShape(text)).not.toThrow();
    }
  });

  test('bad rows are named by their line in the file, good values beside bad ones are kept', () => {
    const text =
      'time;humidity;temperature\n2026-03-14 09:30;warm;20\n\n31.02.2026 10:00;40;20\n2026-03-14 09:50;140;21';
    const shape = guessed(text);
    const { rows, readings, refused } = read(text, shape);
    expect(rows).toBe(3);
    expect(readings.map(({ temperatureC }) => temperatureC)).toEqual([20, 21]);
    expect(refused).toEqual([
      { line: 2, sentence: 'humidity “warm” is not a number.' },
      { line: 4, sentence: expect.stringContaining('not a date and time that exists') },
      { line: 5, sentence: 'humidity 140 % is outside 0 to 100 %.' },
    ]);
  });

  test('parts cut anywhere come to the same as the whole, over the night in which an hour comes twice', async () => {
    const zone = 'Europe/Vienna';
    const rows: string[] = [];
    const times: number[] = [];
    for (let timeMs = Date.UTC(2026, 9, 24, 12); timeMs < Date.UTC(2026, 9, 26); timeMs += 600_000) {
      times.push(timeMs);
      // The reference writes what the clock on the wall showed.
      rows.push(`${DateTime.fromMillis(timeMs, { zone }).toFormat('dd.MM.yyyy HH:mm')};45,5;20,1`);
    }
    const text = `Zeit;Feuchte;Temperatur\n${rows.join('\n')}\n`;
    const shape = guessed(text, zone);
    expect(read(text, shape).readings.map(({ timeMs }) => timeMs)).toEqual(times);
    for (const atLeast of [40, 333, 1000]) {
      const found: number[] = [];
      let beforeMs: number | null = null;
      let line = 1;
      for (const part of cut(text, atLeast)) {
        const taken = read(part, shape, line, beforeMs);
        expect(taken.refused).toEqual([]);
        found.push(...taken.readings.map(({ timeMs }) => timeMs));
        beforeMs = taken.lastMs;
        line += part.split('\n').length - 1;
      }
      expect(found).toEqual(times);
    }
  });

  test('the page cuts files by whole lines, whatever their letters', async () => {
    const line = '2026-03-14 09:30;42,5;20,8 °C für später\r\n';
    const text = `Zeit;Feuchte;Temperatur °C\r\n${line.repeat(9_000)}`;
    const latin = Uint8Array.from([...text].map((letter) => letter.charCodeAt(0)));
    const wide = new Uint8Array([
      0xff,
      0xfe,
      ...new Uint8Array(Uint16Array.from([...text].map((c) => c.charCodeAt(0))).buffer),
    ]);
    for (const bytes of [new TextEncoder().encode(text), latin, wide]) {
      const file = new Blob([bytes]);
      let all = '';
      let next = 1;
      let count = 0;
      for await (const part of partsOf(file)) {
        expect(part.firstLine).toBe(next);
        expect(part.text.endsWith('\n')).toBe(true);
        expect(part.text.length).toBeLessThan(150_000);
        next += part.text.split('\n').length - 1;
        all += part.text;
        count += 1;
      }
      expect(all).toBe(text);
      expect(count).toBeGreaterThan(4);
    }
  });
});

/** Whole lines, at least so many characters a part. */
function* cut(text: string, atLeast: number): Generator<string> {
  let part = '';
  for (const line of text.match(/[^\n]*\n/g) ?? []) {
    part += line;
    if (part.length < atLeast) continue;
    yield part;
    part = '';
  }
  if (part !== '') yield part;
}

describe('over HTTP', () => {
  const stage = standing(serviceStage);

  test('preview, parts, the same again; a column not chosen, a zone not known, a name that is none', async () => {
    const { ask, get } = stage.client;
    const rows = Array.from({ length: 500 }, (_, i) => {
      const at = DateTime.fromMillis(Date.UTC(2026, 0, 1) + i * 600_000, { zone: 'UTC' });
      return `${at.toFormat('dd.MM.yyyy HH:mm')};${(45 + (i % 7) / 4).toFixed(2).replace('.', ',')};20,5`;
    });
    const text = `Logger A;\nDatum;Feuchte;Temperatur\n${rows.join('\n')}\n`;
    const preview = (await ask('POST', '/api/logger-files/preview', { text, timeZone: 'UTC' }))
      .body as LoggerPreview;
    expect(preview.shape).toMatchObject({ delimiter: ';', decimalComma: true, titleLine: 2, humidity: 1 });
    expect(preview.rows[0]).toEqual({ timeMs: Date.UTC(2026, 0, 1), humidityPct: 45, temperatureC: 20.5 });
    const { shape } = preview;
    const part = { sensor: 'cellar-logger', shape, text, firstLine: 1, beforeMs: null };
    const send = async (changes: object = {}) =>
      ask('POST', '/api/logger-files/part', { ...part, ...changes });
    const first = (await send()).body as PartTaken;
    expect(first).toMatchObject({ rows: 500, stored: 1000, duplicates: 0, conflicts: 0, refused: [] });
    expect((await send()).body).toMatchObject({ stored: 0, duplicates: 1000, conflicts: 0 });
    await eventually('the newcomer', async () =>
      (await get<SensorsPage>('/api/sensors')).sensors.some(({ urn }) => urn === 'cellar-logger'),
    );
    const said = async (changes: object) => JSON.stringify((await send(changes)).body);
    expect(await said({ shape: { ...shape, humidity: null, temperature: null } })).toContain(
      'say which column holds the humidity',
    );
    expect(await said({ shape: { ...shape, timeZone: 'Europe/Nowhere' } })).toContain('Europe/Nowhere');
    expect(await said({ sensor: 'two words' })).toContain('sensor: letters, digits');
  });
});
