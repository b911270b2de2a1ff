/**
 * RFC 8428 section 6: SenML CBOR. The dump is the one printed there (from memory; that it decodes to the very pack of
 * section 5.1.2, which is told again beside it, checks the memory). `cborg`, another library, encodes what ours decodes.
 */
import { encode } from 'cborg';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { decodePack } from '../../ingest/decode/pack.ts';
import { resolveSenml } from '../../ingest/decode/senml.ts';

const nowMs = Date.UTC(2026, 2, 1, 12);
const origin = { organisation: 'o', bareName: 'g', nowMs };
const json = (pack: unknown) => new TextEncoder().encode(JSON.stringify(pack));

const printed = `
  87 a7 21 78 1b 75 72 6e 3a 64 65 76 3a 6f 77 3a 31 30 65 32 30 37 33 61 30 31 30 38 30 30 36 3a
  22 fb 41 d3 03 a1 5b 00 10 62 23 61 41 20 05 00 67 76 6f 6c 74 61 67 65 01 61 56 02 fb 40 5e 06
  66 66 66 66 66 a3 00 67 63 75 72 72 65 6e 74 06 24 02 fb 3f f3 33 33 33 33 33 33 a3 00 67 63 75
  72 72 65 6e 74 06 23 02 fb 3f f4 cc cc cc cc cc cd a3 00 67 63 75 72 72 65 6e 74 06 22 02 fb 3f
  f6 66 66 66 66 66 66 a3 00 67 63 75 72 72 65 6e 74 06 21 02 f9 3e 00 a3 00 67 63 75 72 72 65 6e
  74 06 20 02 fb 3f f9 99 99 99 99 99 9a a3 00 67 63 75 72 72 65 6e 74 06 00 02 fb 3f fb 33 33 33
  33 33 33`;
const bytesOf = (hex: string) => Buffer.from(hex.replaceAll(/\s/g, ''), 'hex');

test('section 6: the printed dump says what the JSON of section 5.1.2 says', () => {
  const same = json([
    {
      bn: 'urn:dev:ow:10e2073a0108006:',
      bt: 1276020076.001,
      bu: 'A',
      bver: 5,
      n: 'voltage',
      u: 'V',
      v: 120.1,
    },
    ...[1.2, 1.3, 1.4, 1.5, 1.6, 1.7].map((v, at) => ({ n: 'current', t: at - 5, v })),
  ]);
  const resolved = resolveSenml(bytesOf(printed), nowMs);
  expect(resolved).toEqual(resolveSenml(same, nowMs));
  expect(resolved).toMatchObject({ unresolved: [], records: { length: 7 } });
});

/** Table 4 of section 6, written down a second time. */
const labels: Readonly<Record<string, number>> = {
  ...{
    bver: -1,
    bn: -2,
    bt: -3,
    bu: -4,
    bv: -5,
    bs: -6,
    n: 0,
    u: 1,
    v: 2,
    vs: 3,
    vb: 4,
    s: 5,
    t: 6,
    ut: 7,
    vd: 8,
  },
};

test('table 4: any pack means the same in CBOR, encoded by another library, as in JSON', () => {
  const number = fc.oneof(
    fc.integer({ min: -1_000_000, max: 1_000_000 }),
    fc.double({ noNaN: true, noDefaultInfinity: true, min: -1e9, max: 1e9 }),
  );
  const text = fc.constantFrom('desk:', 'humidity', 'Cel', '%RH', 'K', 'x');
  const sane = {
    n: fc.constantFrom('a', 'b:humidity'),
    u: fc.constant('%RH'),
    v: fc.integer({ min: 0, max: 100 }),
  };
  const any = {
    bn: text,
    bt: number,
    bu: text,
    bv: number,
    n: text,
    u: text,
    v: number,
    vs: text,
    vb: fc.boolean(),
  };
  const record = fc.oneof(
    fc.record({ ...sane, t: fc.double({ min: -1e6, max: 0, noNaN: true }) }),
    fc.record({ ...any, t: number, ut: number, bver: fc.constant(10) }, { requiredKeys: [] }),
  );
  let readings = 0;
  fc.assert(
    fc.property(fc.array(record, { minLength: 1, maxLength: 6 }), (pack) => {
      const coded = pack.map(
        (one) => new Map(Object.entries(one).map(([label, value]) => [labels[label], value])),
      );
      // JSON has no -0.
      const plain: unknown = JSON.parse(JSON.stringify(pack));
      const decoded = decodePack(encode(coded), origin);
      expect(decoded).toEqual(decodePack(json(plain), origin));
      readings += decoded.readings.length;
    }),
    { numRuns: 2_000 },
  );
  expect(readings).toBeGreaterThan(50);
});

test.each([
  ['cut short', '87a721781b75', 'not-cbor'],
  ['claims four thousand million records', '9b00000000ffffffff', 'not-cbor'],
  ['nested a thousand deep', '81'.repeat(1_000), 'not-cbor'],
  ['more after the pack', '8080', 'not-cbor'],
  ['an empty pack', '80', 'not-senml'],
])('%s', (_, hex, reason) => {
  expect(decodePack(bytesOf(hex), origin)).toMatchObject({ readings: [], refused: [{ reason }] });
});

test('a tag, a text where a number belongs, a huge whole number: set aside, never a crash', () => {
  for (const hex of [
    '81a200617802c06161',
    '81a2006178026161',
    '81a2006178021bffffffffffffffff',
    '81f6',
    '8105',
  ]) {
    expect(decodePack(bytesOf(hex), origin).readings).toEqual([]);
  }
});
