/** Bad input: set aside with a reason and a sentence; the good records of the same pack are kept. */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { decodePack } from '../../ingest/decode/pack.ts';
import { refusalReasons } from '../../ingest/index.ts';

const nowMs = Date.UTC(2026, 2, 1, 12);
const origin = { organisation: 'o', bareName: 'attic/desk', nowMs };
const decode = (pack: unknown) => decodePack(new TextEncoder().encode(JSON.stringify(pack)), origin);
const decodeText = (text: string) => decodePack(new TextEncoder().encode(text), origin);
const good = { n: 'good', u: '%RH', v: 45 };
const goodReading = { organisation: 'o', sensor: 'good', timeMs: nowMs, humidityPct: 45 };

describe('one bad record beside a good one', () => {
  test.each([
    [{ n: 'x', u: '%RH', v: 140 }, 'out-of-range', 'Record 1 (x): humidity 140 % is outside 0 to 100 %.'],
    [{ n: 'x', u: '%RH', v: -0.5 }, 'out-of-range', 'Record 1 (x): humidity -0.5 % is outside 0 to 100 %.'],
    [
      { n: 'x', u: 'Cel', v: 85.1 },
      'out-of-range',
      'Record 1 (x): temperature 85.1 °C is outside -40 to 85 °C.',
    ],
    [
      { n: 'x', u: 'K', v: 20 },
      'out-of-range',
      'Record 1 (x): temperature -253.15 °C is outside -40 to 85 °C.',
    ],
    [
      { n: 'x', u: '%EL', v: 101 },
      'out-of-range',
      'Record 1 (x): battery level 101 % is outside 0 to 100 %.',
    ],
    [{ n: 'x', u: '%RH', v: 'NaN' }, 'no-value', 'Record 1: “v” of “x” is not a number.'],
    [{ n: 'x', u: '%RH', v: '21,5' }, 'no-value', 'Record 1: “v” of “x” is not a number.'],
    [{ n: 'x', u: '%RH', v: null }, 'no-value', 'Record 1: “v” of “x” is not a number.'],
    [{ n: 'x', u: '%RH' }, 'no-value', 'Record 1: “x” has no value (v).'],
    [{ n: 'x', u: '%RH', vs: '45' }, 'no-value', 'Record 1 (x): it has no number (v).'],
    [{ n: 'x', u: '%RH', v: 45, vs: '45' }, 'no-value', 'Record 1: “x” has more than one value.'],
    [
      { n: 'x:humidity', u: 'm', v: 45 },
      'unknown-unit',
      'Record 1 (x:humidity): the name says humidity, but it has the unit “m”; %RH is taken.',
    ],
    [
      { n: 'x:humidity', v: 45 },
      'unknown-unit',
      'Record 1 (x:humidity): the name says humidity, but it has no unit; %RH is taken.',
    ],
    [
      { n: 'x:humidity', u: '/', v: 0.45 },
      'unknown-unit',
      'Record 1 (x:humidity): the name says humidity, but it has the unit “/”; %RH is taken.',
    ],
    [
      { n: 'x:temperature', u: '%RH', v: 45 },
      'unknown-unit',
      'Record 1 (x:temperature): the name says temperature, but the unit “%RH” is one of humidity.',
    ],
    // The coulomb: IANA SenML units registry.
    [
      { n: 'x_temp', u: 'C', v: 20 },
      'unknown-unit',
      'Record 1 (x_temp): the name says temperature, but it has the unit “C”; Cel is taken.',
    ],
    [
      { n: 'x', u: '%RH', v: 45, t: 300_000_000 },
      'time-too-old',
      'Record 1 (x): its time 1979-07-05T05:20:00.000Z is before 2000, as of a clock that was never set.',
    ],
    [
      { n: 'x', u: '%RH', v: 45, t: 86_400 },
      'time-ahead',
      'Record 1 (x): its time 2026-03-02T12:00:00.000Z is more than 5 minutes ahead of 2026-03-01T12:00:00.000Z.',
    ],
    [{ n: 'x', u: '%RH', v: 45, t: '0' }, 'not-senml', 'Record 1: “t” is not a number.'],
    [{ n: 17, u: '%RH', v: 45 }, 'not-senml', 'Record 1: “n” is not a text.'],
    [{ u: '%RH', v: 45 }, 'not-senml', 'Record 1: it has no name (neither bn nor n).'],
    [
      { n: 'y'.repeat(201), u: '%RH', v: 45 },
      'not-senml',
      'Record 1: it has a name of 201 characters; 200 are taken.',
    ],
    [17, 'not-senml', 'Record 1: it is not a JSON object.'],
    [null, 'not-senml', 'Record 1: it is not a JSON object.'],
    [[], 'not-senml', 'Record 1: it is not a JSON object.'],
  ])('%j is refused as %s', (bad, reason, sentence) => {
    expect(decode([bad, good])).toEqual({
      readings: [goodReading],
      refused: [{ reason, sentence }],
      skipped: 0,
    });
  });
});

describe('a message that cannot be read at all', () => {
  test.each([
    ['', 'not-json'],
    ['{', 'not-json'],
    ['[{"n":"a","u":"%RH","v":NaN}]', 'not-json'],
    ['{"n":"a","u":"%RH","v":45}', 'not-senml'],
    ['[]', 'not-senml'],
    ['45', 'not-senml'],
    ['null', 'not-senml'],
    ['[{"bver":11,"n":"a","u":"%RH","v":45}]', 'not-senml'],
  ])('%s is refused as %s', (text, reason) => {
    const { readings, refused } = decodeText(text);
    expect(readings).toEqual([]);
    expect(refused.map((refusal) => refusal.reason)).toEqual([reason]);
  });

  test('bytes that are not UTF-8 are not guessed at', () => {
    const { refused } = decodePack(new Uint8Array([0x5b, 0xff, 0x5d]), origin);
    expect(refused.map(({ reason }) => reason)).toEqual(['not-json']);
  });

  test('1e999 is a number to JSON, and no humidity', () => {
    expect(decodeText('[{"n":"x","u":"%RH","v":1e999}]').refused).toEqual([
      { reason: 'out-of-range', sentence: 'Record 1 (x): humidity is not a finite number.' },
    ]);
  });

  test('a faulty base field spoils what rests on it and nothing before', () => {
    const { readings, refused } = decode([
      good,
      { bt: 'noon', n: 'x', u: '%RH', v: 45 },
      { n: 'y', u: '%RH', v: 45 },
    ]);
    expect(readings).toEqual([goodReading]);
    expect(refused).toHaveLength(2);
  });
});

describe('names, units and values', () => {
  test('humidity, temperature and battery that come under names of their own are one sensor', () => {
    for (const [humidity, temperature, battery] of [
      ['urn:dev:mac:02a1:humidity', 'urn:dev:mac:02a1:temperature', 'urn:dev:mac:02a1:battery'],
      ['urn:dev:mac:02a1_rh', 'urn:dev:mac:02a1_temp', 'urn:dev:mac:02a1_bat'],
      ['urn:dev:mac:02a1/RH', 'urn:dev:mac:02a1.Temperature', 'urn:dev:mac:02a1/battery_level'],
      ['urn:dev:mac:02a1', 'urn:dev:mac:02a1:', 'urn:dev:mac:02a1'],
    ] as const) {
      const { readings } = decode([
        { n: humidity, u: '%RH', v: 45 },
        { n: temperature, u: 'Cel', v: 20 },
        { n: battery, u: '%EL', v: 90 },
      ]);
      expect(readings).toEqual([
        {
          organisation: 'o',
          sensor: 'urn:dev:mac:02a1',
          timeMs: nowMs,
          humidityPct: 45,
          temperatureC: 20,
          batteryPct: 90,
        },
      ]);
    }
  });

  test('a name that only ends like a quantity is left alone', () => {
    for (const sensor of ['room-temp', 'bathum', 'attemp']) {
      expect(decode([{ n: sensor, u: '%RH', v: 45 }]).readings.map((reading) => reading.sensor)).toEqual([
        sensor,
      ]);
    }
  });

  test('a name that says nothing but the quantity takes the name of its topic', () => {
    expect(decode([{ n: 'humidity', u: '%RH', v: 45 }]).readings.map(({ sensor }) => sensor)).toEqual([
      'attic/desk',
    ]);
  });

  test.each([
    ['℃', 20, { temperatureC: 20 }],
    ['°C', 20, { temperatureC: 20 }],
    ['％RH', 45, { humidityPct: 45 }],
    ['K', 293.15, { temperatureC: 20 }],
    ['%RH', 0, { humidityPct: 0 }],
    ['%RH', 100.6, { humidityPct: 100 }],
    ['%RH', 101, { humidityPct: 100 }],
    ['Cel', -40, { temperatureC: -40 }],
    ['Cel', 85, { temperatureC: 85 }],
  ])('the unit %s and the value %d', (u, v, values) => {
    expect(decode([{ n: 's', u, v }]).readings).toEqual([
      { organisation: 'o', sensor: 's', timeMs: nowMs, ...values },
    ]);
  });

  test('a percent sign is taken where the name says of what, and nowhere else', () => {
    expect(decode([{ n: 's:humidity', u: '%', v: 45 }]).readings).toMatchObject([
      { sensor: 's', humidityPct: 45 },
    ]);
    expect(decode([{ n: 's', u: '%', v: 45 }])).toEqual({ readings: [], refused: [], skipped: 1 });
  });

  test('quantities we do not keep are skipped: they are no fault', () => {
    const { refused, skipped } = decode([
      { bn: 's:', n: 'pressure', u: 'Pa', v: 101325 },
      { n: 'door', vb: true },
      { n: 'status', vs: 'ok' },
      { n: 'nothing', v: 1 },
    ]);
    expect({ refused, skipped }).toEqual({ refused: [], skipped: 4 });
  });

  test('a base value is added; a record that only sets bases measures nothing', () => {
    const { readings } = decode([{ bn: 's', bu: '%RH', bv: 40 }, { v: 1.5 }, { t: -60 }]);
    expect(readings.map(({ humidityPct }) => humidityPct)).toEqual([41.5, 40]);
  });

  test('the same quantity twice at one time stays two readings, for the store to judge', () => {
    expect(decode([good, { ...good, v: 46 }]).readings.map(({ humidityPct }) => humidityPct)).toEqual([
      45, 46,
    ]);
  });

  test('names from the language’s own inheritance are names like any other', () => {
    for (const sensor of ['constructor', 'toString', 'hasOwnProperty']) {
      expect(decode([{ n: sensor, u: '%RH', v: 45 }]).readings).toEqual([{ ...goodReading, sensor }]);
    }
    expect(decodeText('[{"prototype":{"v":1},"n":"good","u":"%RH","v":45}]').readings).toEqual([goodReading]);
    // It ends in "_", so it says that it must be understood.
    expect(decodeText('[{"__proto__":{"v":1},"n":"good","u":"%RH","v":45}]').readings).toEqual([]);
  });
});

describe('whatever comes', () => {
  const seeds = [
    JSON.stringify([good]),
    '[{"bn":"urn:dev:ow:10e2073a01080063","bt":1320067464.0,"bu":"%RH","v":20},{"u":"lon","v":24.30621},{"t":60,"v":20.3}]',
    '[{"bn":"a:","bt":-5,"bu":"Cel","bv":1,"bs":2,"bver":5,"n":"humidity","t":1,"s":3,"ut":4,"vs":"x","vb":true,"vd":"YQ"}]',
  ];
  const snippets = [
    'NaN',
    '1e308',
    '-1e999',
    '"21,5"',
    '{}',
    '[]',
    '[[',
    '\u0000',
    '{"__proto__":1}',
    '"v":1,"v":2',
    ',',
    'null',
  ];
  const mutated = fc
    .tuple(
      fc.constantFrom(...seeds),
      fc.array(
        fc.record({
          at: fc.nat(200),
          remove: fc.nat(12),
          insert: fc.oneof(fc.constantFrom(...snippets), fc.string({ maxLength: 6, unit: 'binary' })),
        }),
        { maxLength: 4 },
      ),
    )
    .map(([seed, edits]) =>
      edits.reduce(
        (text, { at, remove, insert }) => text.slice(0, at) + insert + text.slice(at + remove),
        seed,
      ),
    );

  function expectSound(payload: Uint8Array): void {
    const { readings, refused } = decodePack(payload, origin);
    for (const reading of readings) {
      expect(reading.sensor.length).toBeGreaterThan(0);
      expect(Number.isSafeInteger(reading.timeMs)).toBe(true);
      const { humidityPct = 0, temperatureC = 0, batteryPct = 0 } = reading;
      expect(humidityPct >= 0 && humidityPct <= 100).toBe(true);
      expect(temperatureC >= -40 && temperatureC <= 85).toBe(true);
      expect(batteryPct >= 0 && batteryPct <= 100).toBe(true);
    }
    for (const { reason, sentence } of refused) {
      expect(refusalReasons).toContain(reason);
      expect(sentence).toMatch(/\.$/);
    }
  }

  test('5,000 mutated packs: no exception, nothing unsound', () => {
    fc.assert(
      fc.property(mutated, (text) => expectSound(new TextEncoder().encode(text))),
      { numRuns: 5_000 },
    );
  });

  test('any bytes and any JSON', () => {
    fc.assert(fc.property(fc.uint8Array({ maxLength: 60 }), expectSound), { numRuns: 1_000 });
    fc.assert(
      fc.property(fc.json({ maxDepth: 4 }), (text) => expectSound(new TextEncoder().encode(text))),
      { numRuns: 1_000 },
    );
  });

  test('a hundred thousand nested arrays, and a pack of a megabyte', () => {
    expectSound(new TextEncoder().encode('['.repeat(100_000) + ']'.repeat(100_000)));
    const pack = JSON.stringify(
      Array.from({ length: 30_000 }, (_, at) => ({ n: `s${at}`, u: '%RH', v: at % 130 })),
    );
    expectSound(new TextEncoder().encode(pack));
  });
});
