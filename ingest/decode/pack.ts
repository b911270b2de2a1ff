/** What a gateway sent, as readings and as refusals. Pure: the time comes in, nothing goes out but the answer. */
import { checkRange } from '../checks/range.ts';
import { checkTime } from '../checks/time.ts';
import type { RefusalReason } from '../gateways.ts';
import type { Quantity, Reading } from '../reading.ts';
import { splitName, type Understood, understandUnit } from '../units.ts';
import { resolveSenml, type SenmlRecord } from './senml.ts';

export interface Refusal {
  readonly reason: RefusalReason;
  /** For a person; names the record and the field. */
  readonly sentence: string;
}

export interface Decoded {
  readonly readings: Reading[];
  readonly refused: Refusal[];
  /** Records of quantities that are not kept here (volts, positions, texts): no fault of the sender. */
  readonly skipped: number;
}

export interface Origin {
  readonly organisation: string;
  /** The sensor's name where a record's own name only says "humidity" or "temperature". */
  readonly bareName: string;
  readonly nowMs: number;
  /** What a time may not be ahead of, where the message is read again later; absent: `nowMs`. */
  readonly clockMs?: number | undefined;
}

type Judged = { sensor: string; quantity: Quantity; value: number; timeMs: number } | Refusal | 'skipped';

interface Meaning {
  readonly sensor: string;
  readonly unit: Understood;
}

/** A long pack says the same few names and units over and over; each is taken apart once. */
function meanings(): (record: SenmlRecord) => Meaning {
  const found = new Map<string, Meaning>();
  return ({ n, u }) => {
    // No name holds a space.
    const key = u === undefined ? n : `${n} ${u}`;
    let meaning = found.get(key);
    if (!meaning) {
      const { sensor, says } = splitName(n);
      meaning = { sensor, unit: understandUnit(u, says) };
      found.set(key, meaning);
    }
    return meaning;
  };
}

function judge(
  record: SenmlRecord,
  { sensor, unit }: Meaning,
  { bareName, nowMs, clockMs = nowMs }: Origin,
): Judged {
  const { n, t, v, position } = record;
  const refuse = (reason: RefusalReason, why: string): Refusal => ({
    reason,
    sentence: `Record ${position} (${n}): ${why}.`,
  });
  if ('foreign' in unit) return 'skipped';
  if ('wrong' in unit) return refuse('unknown-unit', unit.wrong);
  if (v === undefined) return refuse('no-value', 'it has no number (v)');
  const { quantity, toKept } = unit.measure;
  const inRange = checkRange(quantity, toKept(v));
  if ('sentence' in inRange) return refuse('out-of-range', inRange.sentence);
  const timeMs = Math.round(t * 1000);
  const outOfTime = checkTime(timeMs, clockMs);
  if (outOfTime) return refuse(outOfTime.reason, outOfTime.sentence);
  return { sensor: sensor || bareName, quantity, value: inRange.value, timeMs };
}

/** Values of one sensor and time become one reading; a second value of the same quantity begins another. */
function gather(
  organisation: string,
  values: readonly { sensor: string; quantity: Quantity; value: number; timeMs: number }[],
): Reading[] {
  const readings: { -readonly [key in keyof Reading]: Reading[key] }[] = [];
  const latest = new Map<string, Map<number, (typeof readings)[number]>>();
  for (const { sensor, quantity, value, timeMs } of values) {
    let ofSensor = latest.get(sensor);
    if (!ofSensor) {
      ofSensor = new Map();
      latest.set(sensor, ofSensor);
    }
    let reading = ofSensor.get(timeMs);
    if (!reading || reading[quantity] !== undefined) {
      reading = { organisation, sensor, timeMs };
      ofSensor.set(timeMs, reading);
      readings.push(reading);
    }
    reading[quantity] = value;
  }
  return readings;
}

/** Never throws, whatever the payload. */
export function decodePack(payload: Uint8Array, origin: Origin): Decoded {
  const resolved = resolveSenml(payload, origin.nowMs);
  if ('reason' in resolved) return { readings: [], refused: [resolved], skipped: 0 };
  const refused: Refusal[] = resolved.unresolved.map(({ position, reason, sentence }) => ({
    reason,
    sentence: `Record ${position}: ${sentence}.`,
  }));
  let skipped = resolved.withoutNumber;
  const values = [];
  const meaningOf = meanings();
  for (const record of resolved.records) {
    const judged = judge(record, meaningOf(record), origin);
    if (judged === 'skipped') skipped += 1;
    else if ('reason' in judged) refused.push(judged);
    else values.push(judged);
  }
  return { readings: gather(origin.organisation, values), refused, skipped };
}
