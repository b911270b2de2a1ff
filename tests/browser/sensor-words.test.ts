/** The page's plain functions about sensors: a word for every reason, guesses that fit, ready shapes that read their examples. */
import { describe, expect, test } from 'vitest';
import { decodeMessage, readProfile, refusalReasons } from '../../ingest/index.ts';
import { draftOf, profileOf } from '../../web/sensors/bench/draft.ts';
import { guessFor, guessProfile, looksLikeSenml } from '../../web/sensors/bench/guess.ts';
import { foundAt, leavesOf, listsOf } from '../../web/sensors/bench/leaves.ts';
import { shapes } from '../../web/sensors/bench/shapes.ts';
import { zonesOf } from '../../web/sensors/file/zones.ts';
import { reasonWords } from '../../web/sensors/reason-words.ts';

const receivedMs = Date.UTC(2026, 10, 25, 12);
const decode = (profile: unknown, text: string, topic = 'readings/attic/air', lines = false) =>
  decodeMessage({
    gateway: { id: 'g', organisation: 'o', name: 'attic', profile: readProfile(profile) },
    ...{ topic, payload: new TextEncoder().encode(text), receivedMs, lines: lines ? 'ns' : undefined },
  });

test('every reason for which a message is set aside has its words, and none is made up', () => {
  expect(Object.keys(reasonWords).sort()).toEqual([...refusalReasons].sort());
  for (const { why, helps } of Object.values(reasonWords)) {
    expect(why).toMatch(/^[A-Z].{8,}[^.]$/);
    expect(helps).toMatch(/\.$/);
  }
});

describe('ready shapes', () => {
  test.each(shapes)('$name', ({ name, profile, example }) => {
    const topic = profile.kind === 'plain-value' ? 'readings/attic/north-7/humidity' : undefined;
    const { readings, refused } = decode(profile, example, topic, name.startsWith('line protocol'));
    expect(refused).toEqual([]);
    expect(readings[0]?.humidityPct).toBeCloseTo(42.5, 9);
    if (profile.kind !== 'plain-value')
      expect(readings[0]?.temperatureC).toBeCloseTo(name.includes('°F') ? 21 : 20.8, 9);
    // What the form makes of it is the same profile.
    expect(profileOf(draftOf(profile))).toEqual(profile);
  });
});

describe('guesses', () => {
  test.each([
    ['a batch', shapes[2]?.example ?? '', 2],
    ['hundredths', '{"dev_eui":"A1","temperature":2080,"humidity":4250}', 1],
    ['volts are no charge', '{"id":"A1","temp":20.8,"hum":42.5,"battery":3.01}', 1],
    ['keys with slashes', '{"id":"A1","air/temp":20.8,"air/rh":0.425}', 1],
    ['the whole a list', '[{"id":"A1","ts":1772359200000,"t":20.8,"h":42.5}]', 1],
  ])('%s', (_, example, count) => {
    const { readings, refused } = decode(guessProfile(JSON.parse(example)), example);
    expect(refused).toEqual([]);
    expect(readings).toHaveLength(count);
    expect(readings[0]?.humidityPct).toBeCloseTo(42.5, 9);
    expect(readings[0]?.temperatureC).toBeCloseTo(20.8, 9);
    expect(readings[0]?.batteryPct).toBeUndefined();
  });

  test.each([
    [
      'a name and a value each',
      '{"esp8266id":"A1","data":[{"value_type":"co2","value":"612"},{"value_type":"temperature","value":"20.8"},{"value_type":"humidity","value":"42.5"}]}',
      'A1',
    ],
    [
      'SenML that leaves its units out',
      '[{"bn":"A1:","n":"humidity","v":42.5},{"n":"temperature","v":20.8}]',
      'A1',
    ],
    ['a number of the message’s own', '{"id":17,"mac":"A1","temp":20.8,"hum":42.5}', 'A1'],
  ])('%s', (_, example, sensor) => {
    const profile = guessProfile(JSON.parse(example));
    const { readings, refused } = decode(profile, example);
    expect(refused).toEqual([]);
    expect(Object.assign({}, ...readings)).toMatchObject({ sensor, humidityPct: 42.5, temperatureC: 20.8 });
    expect(profileOf(draftOf(profile))).toEqual(profile);
  });

  test('a plain number is read by its topic, its other quantities by the topics beside it', () => {
    const beside = ['readings/attic/east/hall/temp_f', 'readings/attic/east/hall/pressure', 'elsewhere'];
    const profile = guessFor('42.5', 42.5, 'readings/attic/east/hall/rh', beside);
    expect(profile).toEqual({
      kind: 'plain-value',
      topic: 'readings/attic/+/{sensor}/{quantity}',
      quantities: { rh: { quantity: 'humidityPct' }, temp_f: { quantity: 'temperatureC', unit: 'degF' } },
    });
    expect(decode(profile, '68', 'readings/attic/west/hall/temp_f').readings).toMatchObject([
      { sensor: 'hall', temperatureC: 20 },
    ]);
    // Also from a message of a quantity that is not kept, and from a number with a comma.
    expect(
      guessFor('1011', 1011, 'readings/attic/east/hall/pressure', ['readings/attic/east/hall/rh']),
    ).toMatchObject({ quantities: { rh: { quantity: 'humidityPct' } } });
    expect(guessFor('42,5', undefined, 'temperature/hall', [])).toMatchObject({
      topic: '{quantity}/{sensor}',
    });
    expect(guessFor('42.5', 42.5, 'hall', [])).toBeNull();
    expect(guessFor('warm', undefined, 'hall/rh', [])).toBeNull();
  });

  test('what is SenML by its shape is known as such', () => {
    const [pack, others] = [shapes.at(-1), shapes.slice(0, -1)];
    expect(looksLikeSenml(JSON.parse(pack?.example ?? ''))).toBe(true);
    for (const { example, name } of others)
      if (!name.startsWith('line')) expect(looksLikeSenml(JSON.parse(example)), name).toBe(false);
  });

  test('nothing makes it fall over, and what it points at is there', () => {
    for (const document of [
      null,
      5,
      '',
      [],
      {},
      [[]],
      { a: [null] },
      { __proto__: null, b: { c: {} } },
      'x'.repeat(1000),
    ]) {
      expect(() => guessProfile(document)).not.toThrow();
    }
    const document = { 'a/b': { '~': [1, { c: 'x' }] } };
    for (const { at, value } of leavesOf(document)) expect(foundAt(document, at)).toBe(value);
    expect(listsOf(document)).toEqual(['/a~1b/~0']);
  });
});

test('clocks of loggers: a zone, its winter, and UTC; also where summer is in January', () => {
  const venue = (timeZone: string) => ({ id: '', name: '', timeZone });
  expect(zonesOf([venue('Europe/Vienna'), venue('Australia/Adelaide')])).toEqual(
    expect.arrayContaining(['Europe/Vienna', 'UTC+1', 'Australia/Adelaide', 'UTC+9:30', 'UTC']),
  );
  expect(zonesOf([venue('America/New_York')])).toContain('UTC-5');
});
