/** The examples printed in RFC 8428, section 5.1, against our resolver and decoder. */
import { expect, test } from 'vitest';
import { decodePack } from '../../ingest/decode/pack.ts';
import { resolveSenml } from '../../ingest/decode/senml.ts';

const nowMs = Date.UTC(2026, 2, 1, 12);
const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
const origin = { organisation: 'o', bareName: 'g', nowMs };

/** Resolved records as RFC 8428 section 4.6 wants them, without our note of the position. */
function resolved(text: string) {
  const answer = resolveSenml(bytes(text), nowMs);
  if ('reason' in answer) throw new Error(answer.sentence);
  expect(answer.unresolved).toEqual([]);
  return answer.records.map(({ position: _, ...record }) => record);
}

test('5.1.1: a single measurement without a time is of now', () => {
  const pack = '[{"n":"urn:dev:ow:10e2073a01080063","u":"Cel","v":23.1}]';
  expect(resolved(pack)).toEqual([{ n: 'urn:dev:ow:10e2073a01080063', u: 'Cel', v: 23.1, t: nowMs / 1000 }]);
  expect(decodePack(bytes(pack), origin).readings).toEqual([
    { organisation: 'o', sensor: 'urn:dev:ow:10e2073a01080063', timeMs: nowMs, temperatureC: 23.1 },
  ]);
});

test('5.1.2: voltage and current share a base name; they are quantities we do not keep', () => {
  const pack =
    '[{"bn":"urn:dev:ow:10e2073a01080063:","n":"voltage","u":"V","v":120.1},{"n":"current","u":"A","v":1.2}]';
  expect(resolved(pack)).toEqual([
    { n: 'urn:dev:ow:10e2073a01080063:voltage', u: 'V', v: 120.1, t: nowMs / 1000 },
    { n: 'urn:dev:ow:10e2073a01080063:current', u: 'A', v: 1.2, t: nowMs / 1000 },
  ]);
  expect(decodePack(bytes(pack), origin)).toEqual({ readings: [], refused: [], skipped: 2 });
});

test('5.1.2: base time, base unit and times relative to the base', () => {
  const pack = `[
    {"bn":"urn:dev:ow:10e2073a0108006:","bt":1276020076.001,"bu":"A","bver":5,"n":"voltage","u":"V","v":120.1},
    {"n":"current","t":-5,"v":1.2},{"n":"current","t":-4,"v":1.3},{"n":"current","t":-3,"v":1.4},
    {"n":"current","t":-2,"v":1.5},{"n":"current","t":-1,"v":1.6},{"n":"current","v":1.7}]`;
  const records = resolved(pack);
  expect(records.map(({ n, u, v }) => [n, u, v])).toEqual([
    ['urn:dev:ow:10e2073a0108006:voltage', 'V', 120.1],
    ...[1.2, 1.3, 1.4, 1.5, 1.6, 1.7].map((v) => ['urn:dev:ow:10e2073a0108006:current', 'A', v]),
  ]);
  const times = [1276020076.001, ...[-5, -4, -3, -2, -1, 0].map((t) => 1276020076.001 + t)];
  expect(records.map(({ t }) => t)).toEqual(times);
});

const multiple = `[
  {"bn":"urn:dev:ow:10e2073a01080063","bt":1320067464.0,"bu":"%RH","v":20},
  {"u":"lon","v":24.30621},{"u":"lat","v":60.07965},
  {"t":60,"v":20.3},{"u":"lon","t":60,"v":24.30622},{"u":"lat","t":60,"v":60.07965},
  {"t":120,"v":20.7},{"u":"lon","t":120,"v":24.30623},{"u":"lat","t":120,"v":60.07966},
  {"u":"%EL","t":150,"v":98},
  {"t":180,"v":21.2},{"u":"lon","t":180,"v":24.30628},{"u":"lat","t":180,"v":60.07967}]`;

const resolvedMultiple = `[
  {"n":"urn:dev:ow:10e2073a01080063","u":"%RH","t":1320067464.0,"v":20},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lon","t":1320067464.0,"v":24.30621},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lat","t":1320067464.0,"v":60.07965},
  {"n":"urn:dev:ow:10e2073a01080063","u":"%RH","t":1320067524.0,"v":20.3},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lon","t":1320067524.0,"v":24.30622},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lat","t":1320067524.0,"v":60.07965},
  {"n":"urn:dev:ow:10e2073a01080063","u":"%RH","t":1320067584.0,"v":20.7},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lon","t":1320067584.0,"v":24.30623},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lat","t":1320067584.0,"v":60.07966},
  {"n":"urn:dev:ow:10e2073a01080063","u":"%EL","t":1320067614.0,"v":98},
  {"n":"urn:dev:ow:10e2073a01080063","u":"%RH","t":1320067644.0,"v":21.2},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lon","t":1320067644.0,"v":24.30628},
  {"n":"urn:dev:ow:10e2073a01080063","u":"lat","t":1320067644.0,"v":60.07967}]`;

test('5.1.3 resolves to 5.1.4', () => {
  expect(resolved(multiple)).toEqual(JSON.parse(resolvedMultiple));
});

test('5.1.3 decodes to its humidity and battery; the position is skipped', () => {
  const { readings, refused, skipped } = decodePack(bytes(multiple), origin);
  const sensor = 'urn:dev:ow:10e2073a01080063';
  expect(readings).toEqual([
    { organisation: 'o', sensor, timeMs: 1320067464000, humidityPct: 20 },
    { organisation: 'o', sensor, timeMs: 1320067524000, humidityPct: 20.3 },
    { organisation: 'o', sensor, timeMs: 1320067584000, humidityPct: 20.7 },
    { organisation: 'o', sensor, timeMs: 1320067614000, batteryPct: 98 },
    { organisation: 'o', sensor, timeMs: 1320067644000, humidityPct: 21.2 },
  ]);
  expect(refused).toEqual([]);
  expect(skipped).toBe(8);
});

test('5.1.4 decodes to the same as 5.1.3', () => {
  expect(decodePack(bytes(resolvedMultiple), origin)).toEqual(decodePack(bytes(multiple), origin));
});

test('the streaming example (section 4.8 of the RFC) decodes to nine humidities, ten seconds apart', () => {
  const values = [21.3, 21.4, 21.4, 21.5, 21.5, 21.5, 21.6, 21.7];
  const pack = JSON.stringify([
    { bn: 'urn:dev:ow:10e2073a01080063', bt: 1320067464, bu: '%RH', v: 21.2 },
    ...values.map((v, at) => ({ t: 10 * (at + 1), v })),
  ]);
  const { readings } = decodePack(bytes(pack), origin);
  expect(readings.map(({ timeMs, humidityPct }) => [timeMs, humidityPct])).toEqual(
    [21.2, ...values].map((v, at) => [1320067464000 + at * 10_000, v]),
  );
});

// Section 4.5.3: below 2^28 seconds a time is relative to now; the smallest absolute time is 1978-07-04T21:24:16Z.
test('2^28 seconds is the first absolute time', () => {
  const at = (t: number) => resolved(JSON.stringify([{ n: 'a', u: '%RH', v: 1, t }]))[0]?.t;
  expect(at(2 ** 28 - 1)).toBe(nowMs / 1000 + 2 ** 28 - 1);
  expect(new Date((at(2 ** 28) ?? 0) * 1000).toISOString()).toBe('1978-07-04T21:24:16.000Z');
  expect(at(-60)).toBe(nowMs / 1000 - 60);
});

// Section 4.5.1: letters, digits and - : . / _, beginning with a letter or a digit.
test.each([
  ['urn:dev:mac:0024befffe804ff1', true],
  ['9-a.b/c_d', true],
  ['-a', false],
  ['a b', false],
  ['é', false],
])('the name %s is %s', (n, good) => {
  const answer = resolveSenml(bytes(JSON.stringify([{ n, u: '%RH', v: 1 }])), nowMs);
  expect('records' in answer && answer.records.length === 1).toBe(good);
});

// Section 4.4: a field that ends in "_" must be understood, or the pack must not be used.
test('an unknown field that must be understood spoils the pack; another unknown field does not', () => {
  const pack = (field: string) => bytes(JSON.stringify([{ n: 'a', u: '%RH', v: 1, [field]: 1 }]));
  expect(resolveSenml(pack('mul_'), nowMs)).toMatchObject({ reason: 'not-senml' });
  expect(decodePack(pack('colour'), origin).readings).toHaveLength(1);
});
