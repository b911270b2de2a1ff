/**
 * The line protocol, against InfluxDB itself: what a real 1.x server makes of a text is what we make of it. And against
 * another encoder: the `Point` of InfluxDB's own client.
 */
import { Point } from '@influxdata/influxdb-client';
import fc from 'fast-check';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { type LinePoint, readLineProtocol } from '../../ingest/decode/line-protocol.ts';
import { type RunningInflux, startInflux } from '../support/influxd.ts';
import { hasProgram } from '../support/service.ts';

const able = hasProgram('influxd');
let engine: RunningInflux;
beforeAll(async () => {
  if (able) engine = await startInflux();
});
afterAll(() => engine?.stop());

const bytes = (text: string) => new TextEncoder().encode(text);
const read = (text: string) => readLineProtocol(bytes(text), 'ns');

// Kinds of escapes and values as the documentation of 1.x lists them ("Line protocol reference", from memory).
const lines = [
  'weather,location=us-midwest temperature=82 1465839830100400200',
  'weather temperature=82i 1465839830100000000',
  'weather,location=us\\,midwest temperature=82 1465839830200000000',
  'weather,location=us-midwest temp\\=rature=82 1465839830300000000',
  'weather,location\\ place=us-midwest temperature=82 1465839830400000000',
  'wea\\,ther,location=us-midwest temperature=82 1465839830500000000',
  'wea\\ ther,location=us-midwest temperature=82 1465839830600000000',
  'weather,location=us-midwest note="too \\"hot\\"" 1465839830700000000',
  'weather,location=us-midwest note="too hot/cold" 1465839830800000000',
  'weather,location=us-midwest note="too hot\\\\cold",ok=t,bad=FALSE 1465839830900000000',
  'weather,location=us-midwest note="a, b = c d" 1465839831000000000',
  'weather,a=1,b=2 x=-1.5e-3,z=7.25 1465839831100000000',
  'weather y=.5 1465839831100000000',
  'we"ather,lo"c=u"s temperature=1 1465839831200000000',
  'back\\slash,ta\\g=va\\lue fi\\eld=1 1465839831300000000',
];

interface Held {
  results: { series?: { name: string; columns: string[]; values: unknown[][] }[] }[];
}

test.skipIf(!able).each(lines)('the engine and we make the same of %s', async (line) => {
  await engine.ask('DROP DATABASE lines');
  await engine.ask('CREATE DATABASE lines');
  const answer = await fetch(`${engine.origin}/write?db=lines`, { method: 'POST', body: line });
  expect(answer.status).toBe(204);
  const { points, faults } = read(line);
  expect(faults).toEqual([]);
  const [point] = points;
  // Column names tell tags from fields only by what they are called, so compare them together.
  const held = (await (
    await fetch(`${engine.origin}/query?db=lines&epoch=ms&q=${encodeURIComponent('SELECT * FROM /.*/')}`)
  ).json()) as Held;
  const series = held.results[0]?.series?.[0];
  const columns = Object.fromEntries(
    (series?.columns ?? []).map((name, at) => [name, series?.values[0]?.[at]]),
  );
  const { time, ...rest } = columns;
  expect([series?.name, rest]).toEqual([point?.measurement, { ...point?.tags, ...point?.fields }]);
  expect(Math.floor(Number(time))).toBe(Math.floor(point?.timeMs ?? 0));
});

test
  .skipIf(!able)
  .each([
    'weather',
    'weather,location temperature=82',
    'weather,location= temperature=82',
    'weather temperature=',
    'weather temperature=hot',
    'weather temperature="never closed',
    'weather temperature=82 soon',
    ',a=b temperature=82',
    'weather temperature=82x',
    'weather temperature=+82',
  ])('neither the engine nor we take %s', async (line) => {
  await engine.ask('CREATE DATABASE lines');
  const answer = await fetch(`${engine.origin}/write?db=lines`, { method: 'POST', body: line });
  expect(answer.status).toBe(400);
  expect(read(line)).toMatchObject({ points: [], faults: [{ line: 1 }] });
});

test('what the other encoder writes, we read back', () => {
  const word = fc
    .string({
      unit: fc.constantFrom('a', 'Z', '1', ' ', ',', '=', '"', 'ü', '/', '.'),
      minLength: 1,
      maxLength: 8,
    })
    .filter((text) => text.trim() === text);
  fc.assert(
    fc.property(
      word.filter((text) => !text.startsWith('#')),
      fc.dictionary(word, word, { maxKeys: 3 }),
      fc.dictionary(word, fc.oneof(fc.integer(), fc.string(), fc.boolean()), { minKeys: 1, maxKeys: 3 }),
      (measurement, tags, fields) => {
        const point = new Point(measurement);
        for (const [key, value] of Object.entries(tags)) point.tag(key, value);
        for (const [key, value] of Object.entries(fields)) {
          if (typeof value === 'number') point.intField(key, value);
          else if (typeof value === 'string') point.stringField(key, value);
          else point.booleanField(key, value);
        }
        const line = point.timestamp('1465839830100400200').toLineProtocol() ?? '';
        const [one]: LinePoint[] = read(line).points;
        expect(one).toEqual({ measurement, tags, fields, timeMs: 1465839830100 });
      },
    ),
    { numRuns: 2_000 },
  );
});

test('precisions, comments, empty lines, Windows line ends, a faulty line among good ones', () => {
  const text = '# a comment\r\n\r\nair,sensor=a humidity=41 1465839830\r\nnonsense\nair,sensor=b humidity=42';
  expect(readLineProtocol(bytes(text), 's')).toEqual({
    points: [
      { measurement: 'air', tags: { sensor: 'a' }, fields: { humidity: 41 }, timeMs: 1465839830000 },
      { measurement: 'air', tags: { sensor: 'b' }, fields: { humidity: 42 } },
    ],
    faults: [{ line: 4, sentence: 'it has no field, or a field has no =' }],
  });
});
