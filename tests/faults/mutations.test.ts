/**
 * Real payloads with bytes flipped, cut out, doubled and swapped, through every decoder. Whatever comes: no exception, a
 * reading only of sound name, time and range, nothing that vanishes without being counted, and nothing that stays in memory.
 */
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { encode } from 'cborg';
import { expect, test } from 'vitest';
import { ranges } from '../../ingest/checks/range.ts';
import { aheadMs, oldestMs } from '../../ingest/checks/time.ts';
import { isName } from '../../ingest/decode/senml.ts';
import { decodeMessage, type Message, type Profile, quantities, readProfile } from '../../ingest/index.ts';

/** A tenth of what the soak runs (SOAK_PAYLOADS=1000000). */
const payloads = Number(process.env.SOAK_PAYLOADS ?? 100_000);
const nowMs = Date.UTC(2026, 2, 1, 12);
const nowS = nowMs / 1000;

/** mulberry32 (public domain): the same mutations in every run. */
function randomFrom(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}

const pack = [
  { bn: 'urn:dev:mac:02a1b2c3d4e5f607:', bt: nowS - 3_600, n: 'humidity', u: '%RH', v: 43.5 },
  { n: 'temperature', u: 'Cel', v: 20.8 },
  { n: 'battery', u: '%EL', v: 88, t: 60 },
];
const labels: Readonly<Record<string, number>> = { bn: -2, bt: -3, n: 0, u: 1, v: 2, t: 6 };
const coded = pack.map((one) => new Map(Object.entries(one).map(([label, value]) => [labels[label], value])));
const mapped = readProfile({
  ...{ kind: 'mapped', each: '/uplinks', sensor: '^/device', time: { at: '/at', as: 'iso' } },
  values: [
    { at: '/air/rh', quantity: 'humidityPct' },
    { at: '/air/t', quantity: 'temperatureC', unit: 'degF' },
  ],
});
const pairs = readProfile({
  ...{ kind: 'mapped', each: '/data', sensor: '^/id' },
  values: [
    { at: '/value', where: { at: '/type', is: 'rh' }, quantity: 'humidityPct' },
    { at: '/value', where: { at: '/type', is: 't' }, quantity: 'temperatureC' },
  ],
});
const data = [
  { type: 'rh', value: '41,5' },
  { type: 't', value: 20.5 },
];
const plain = readProfile({
  ...{ kind: 'plain-value', topic: 'house/{sensor}/{quantity}' },
  quantities: { rh: { quantity: 'humidityPct' } },
});
const uplinks = [{ at: '2026-03-01T10:00:00Z', air: { rh: 41.5, t: 69.8 } }];
const lines =
  'air,sensor=desk\\ 1,room="a" humidity=43.25,temperature=20.5,note="x, y=z" 1772366400000\nair,sensor=shelf humidity=44i';

type Sample = Pick<Message, 'topic' | 'lines'> & { name: string; payload: Uint8Array; profile?: Profile };
const samples: Sample[] = [
  { name: 'SenML JSON', topic: 'readings/attic', payload: Buffer.from(JSON.stringify(pack)) },
  { name: 'SenML CBOR', topic: 'readings/attic', payload: encode(coded) },
  {
    name: 'mapped JSON',
    topic: 'readings/attic',
    profile: mapped,
    payload: Buffer.from(JSON.stringify({ device: 'n7', uplinks })),
  },
  {
    name: 'names and values',
    topic: 'house/Green Room',
    profile: pairs,
    payload: Buffer.from(JSON.stringify({ id: 'n 7', data })),
  },
  { name: 'plain value', topic: 'house/desk/rh', profile: plain, payload: Buffer.from('41.5') },
  { name: 'line protocol', topic: '/write?precision=ms', lines: 'ms', payload: Buffer.from(lines) },
];

/** What is hostile in one of the formats: quotes, brackets, escapes, CBOR's lengths, ends and floats. */
const hostile = [
  0x00, 0x0a, 0x20, 0x22, 0x2c, 0x2d, 0x3d, 0x5b, 0x5c, 0x65, 0x7b, 0x80, 0x9b, 0x9f, 0xbf, 0xc3, 0xd9, 0xf7,
  0xfb, 0xff,
];

function mutate(sound: Uint8Array, random: () => number): Uint8Array {
  let bytes = Buffer.from(sound);
  const below = (end: number): number => Math.floor(random() * end);
  for (let times = 1 + below(4); times > 0; times -= 1) {
    const at = below(bytes.length + 1);
    const to = Math.min(bytes.length, at + 1 + below(12));
    const kind = below(6);
    if (kind === 0 && at < bytes.length) bytes[at] = (bytes[at] ?? 0) ^ (1 << below(8));
    else if (kind === 1 && at < bytes.length) bytes[at] = hostile[below(hostile.length)] ?? 0;
    else if (kind === 2) bytes = Buffer.concat([bytes.subarray(0, at), bytes.subarray(to)]);
    else if (kind === 3) bytes = Buffer.concat([bytes.subarray(0, to), bytes.subarray(at)]);
    else if (kind === 4)
      bytes = Buffer.concat([
        bytes.subarray(0, at),
        Buffer.from([hostile[below(hostile.length)] ?? 0]),
        bytes.subarray(at),
      ]);
    else bytes = bytes.subarray(0, at);
  }
  return bytes;
}

/** What lives on the heap once what is dead is cleared away, MB. */
function livingMb(): number {
  setFlagsFromString('--expose-gc');
  runInNewContext('gc')();
  return process.memoryUsage().heapUsed / 1e6;
}

test(`${payloads} mutated payloads through every decoder`, { timeout: 60_000 + payloads / 2 }, () => {
  const random = randomFrom(20_260_301);
  const reasons = new Map<string, number>();
  const silent = new Map<string, number>();
  let [read, longestMs] = [0, 0];
  let halfwayMb = 0;
  for (let number = 0; number < payloads; number += 1) {
    if (number === Math.floor(payloads / 2)) halfwayMb = livingMb();
    const sample = samples[number % samples.length];
    if (!sample) throw new Error('no sample');
    const payload = mutate(sample.payload, random);
    const message = {
      gateway: { id: 'g', organisation: 'o', name: 'attic', profile: sample.profile },
      ...{ topic: sample.topic, lines: sample.lines, payload, receivedMs: nowMs },
    };
    const timed = (): number => {
      const fromMs = performance.now();
      decodeMessage(message);
      return performance.now() - fromMs;
    };
    const fromMs = performance.now();
    const { readings, refused, skipped } = decodeMessage(message);
    const tookMs = performance.now() - fromMs;
    // The machine may have been elsewhere; a payload that hangs a decoder hangs it every time.
    longestMs = Math.max(longestMs, tookMs < 2 ? tookMs : Math.min(tookMs, timed(), timed(), timed()));
    read += readings.length;
    for (const { reason } of refused) reasons.set(reason, (reasons.get(reason) ?? 0) + 1);
    for (const reading of readings) {
      const { sensor, timeMs } = reading;
      const values = quantities.flatMap((quantity) => {
        const value = reading[quantity];
        return value === undefined ? [] : [{ value, ...ranges[quantity] }];
      });
      const sound =
        isName(sensor) &&
        Number.isInteger(timeMs) &&
        timeMs >= oldestMs &&
        timeMs <= nowMs + aheadMs &&
        values.length > 0 &&
        values.every(({ value, least, most }) => value >= least && value <= most);
      if (!sound)
        expect.fail(
          `${sample.name} ${JSON.stringify(Buffer.from(payload).toString('latin1'))} gave ${JSON.stringify(reading)}`,
        );
    }
    // A pack of base fields alone, and a text of comments alone, say nothing; anything else must be counted.
    if (readings.length + refused.length + skipped === 0)
      silent.set(sample.name, (silent.get(sample.name) ?? 0) + 1);
  }
  const grownMb = livingMb() - halfwayMb;
  console.log(
    `${payloads} mutated payloads: ${read} readings, longest ${longestMs.toFixed(1)} ms, living memory ${grownMb.toFixed(2)} MB more than half-way, refused ${JSON.stringify(Object.fromEntries(reasons))}, silent ${JSON.stringify(Object.fromEntries(silent))}`,
  );
  for (const name of ['mapped JSON', 'names and values', 'plain value'])
    expect(silent.get(name) ?? 0).toBe(0);
  expect(read).toBeGreaterThan(payloads / 20);
  // Each payload is some 200 bytes: were one in ten kept, a tenth of the soak's run would already show it.
  expect(grownMb).toBeLessThan(payloads * 10e-6);
  // Every way of being unreadable was met, so the run says something.
  const expected = [
    'not-json',
    'not-cbor',
    'not-senml',
    'not-line-protocol',
    'not-mapped',
    'no-value',
    'unknown-unit',
    'out-of-range',
  ];
  expect(expected.filter((reason) => !reasons.has(reason))).toEqual([]);
});
