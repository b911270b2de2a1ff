/** Any JSON, read by a profile that points at its values. One entry gives one reading. */
import { checkRange } from '../checks/range.ts';
import { checkTime } from '../checks/time.ts';
import type { RefusalReason } from '../gateways.ts';
import type { Quantity, Reading } from '../reading.ts';
import { valueAt } from './json-pointer.ts';
import type { Decoded, Origin, Refusal } from './pack.ts';
import { converted, type MappedProfile } from './profile.ts';
import { sensorNamed } from './sensor-name.ts';

/** Entries of one message; more are another mistake than a long batch. */
const mostEntries = 20_000;
const utf8 = new TextDecoder('utf-8', { fatal: true });

/** One look at one place of a payload: what stood there, and what was made of it. */
export interface Step {
  /** From 1. */
  readonly entry: number;
  readonly means: 'sensor' | 'time' | Quantity;
  /** A JSON Pointer, or a level of the topic. */
  readonly at: string;
  readonly found: string;
  /** What is kept: a name, epoch milliseconds, a value in the quantity's own unit; null: nothing. */
  readonly kept: string | number | null;
  readonly fault: string | null;
}
export type Trace = (step: Step) => void;

type Writable = { -readonly [key in keyof Reading]: Reading[key] };

const shown = (value: unknown): string => {
  const text = typeof value === 'string' ? `“${value}”` : (JSON.stringify(value) ?? 'nothing');
  return text.length > 40 ? `${text.slice(0, 40)}…` : text;
};
const decimal = /^\s*[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:e[+-]?\d{1,3})?\s*$/i;

/** A number, also one sent as text, with a point or a comma; null is how many say "not measured". */
export function numberOf(value: unknown): number | null | undefined {
  if (value === null || value === undefined) return null;
  if (typeof value === 'number') return value;
  if (typeof value !== 'string' || value.length >= 40 || !decimal.test(value)) return undefined;
  return Number(value.replace(',', '.'));
}

const textOf = (value: unknown): string | null =>
  typeof value === 'string' || typeof value === 'number' ? String(value) : null;

function timeOf(value: unknown, as: 'iso' | 's' | 'ms'): number | null {
  if (as === 'iso') {
    // Without an offset a text means another time in every place.
    const whole =
      typeof value === 'string' &&
      /^\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:?\d\d)$/.test(value);
    const timeMs = whole ? Date.parse(String(value)) : Number.NaN;
    return Number.isFinite(timeMs) ? timeMs : null;
  }
  const number = numberOf(value);
  if (typeof number !== 'number') return null;
  return Math.round(as === 's' ? number * 1000 : number);
}

function readEntry(
  entry: unknown,
  document: unknown,
  {
    profile,
    origin,
    position,
    trace,
  }: { profile: MappedProfile; origin: Origin; position: number; trace: Trace | undefined },
): { reading?: Reading; refused: Refusal[]; skipped: number; foreign: boolean } {
  const at = (place: string): unknown =>
    place.startsWith('^') ? valueAt(document, place.slice(1)) : valueAt(entry, place);
  const refused: Refusal[] = [];
  const refuse = (reason: RefusalReason, why: string): void =>
    void refused.push({ reason, sentence: `Entry ${position}: ${why}.` });
  const tell = (means: Step['means'], place: string, kept: Step['kept'], fault: string | null = null): void =>
    trace?.({ entry: position, means, at: place, found: shown(at(place)), kept, fault });

  let sensor = origin.bareName;
  if (profile.sensor !== undefined) {
    const found = at(profile.sensor);
    const called = textOf(found)?.trim() ?? '';
    const named = called === '' ? null : sensorNamed(`${profile.prefix ?? ''}${called}`);
    if (named === null) {
      tell('sensor', profile.sensor, null, 'cannot be a sensor’s name');
      refuse('not-mapped', `at ${profile.sensor} stands ${shown(found)}, which cannot be a sensor's name`);
      return { refused, skipped: 0, foreign: false };
    }
    sensor = named;
    tell('sensor', profile.sensor, sensor);
  }
  let timeMs = origin.nowMs;
  if (profile.time) {
    const time = timeOf(at(profile.time.at), profile.time.as);
    if (time === null) {
      tell('time', profile.time.at, null, `is no time (${profile.time.as})`);
      refuse(
        'not-mapped',
        `at ${profile.time.at} stands ${shown(at(profile.time.at))}, which is no time (${profile.time.as})`,
      );
      return { refused, skipped: 0, foreign: false };
    }
    timeMs = time;
  }
  const outOfTime = checkTime(timeMs, origin.clockMs ?? origin.nowMs);
  if (profile.time) tell('time', profile.time.at, timeMs, outOfTime?.sentence ?? null);
  if (outOfTime) {
    refuse(outOfTime.reason, outOfTime.sentence);
    return { refused, skipped: 0, foreign: false };
  }
  const reading: Writable = { organisation: origin.organisation, sensor, timeMs };
  let found = 0;
  /** It is a value of another name than ours: no fault of the sender. */
  let foreign = false;
  for (const value of profile.values) {
    if (value.where && textOf(at(value.where.at)) !== value.where.is) {
      foreign ||= textOf(at(value.where.at)) !== null;
      continue;
    }
    const number = numberOf(at(value.at));
    if (number === null) {
      tell(value.quantity, value.at, null, 'nothing stands there');
      continue;
    }
    found += 1;
    if (number === undefined) {
      tell(value.quantity, value.at, null, 'is no number');
      refuse('no-value', `at ${value.at} stands ${shown(at(value.at))}, which is no number`);
      continue;
    }
    const inRange = checkRange(value.quantity, converted(number, value));
    if ('sentence' in inRange) {
      tell(value.quantity, value.at, null, inRange.sentence);
      refuse('out-of-range', `${value.at}: ${inRange.sentence}`);
    } else {
      tell(value.quantity, value.at, inRange.value);
      reading[value.quantity] = inRange.value;
    }
  }
  const measured = found > refused.length;
  return { ...(measured ? { reading } : {}), refused, skipped: found === 0 ? 1 : 0, foreign };
}

/**
 * @param documents each read by itself
 * @param trace told of every place that is looked at
 */
export function decodeMapped(
  documents: readonly unknown[],
  profile: MappedProfile,
  origin: Origin,
  trace?: Trace,
): Decoded {
  const decoded: Decoded & { skipped: number } = { readings: [], refused: [], skipped: 0 };
  let position = 0;
  let foreign = false;
  for (const document of documents) {
    const entries =
      profile.each === undefined ? [document] : valueAt(document, profile.each.replace(/^\^/, ''));
    if (!Array.isArray(entries)) {
      decoded.refused.push({
        reason: 'not-mapped',
        sentence: `At ${profile.each} stands ${shown(entries)}, which is no list of entries.`,
      });
      continue;
    }
    if (entries.length > mostEntries) {
      decoded.refused.push({
        reason: 'not-mapped',
        sentence: `The message has ${entries.length} entries; ${mostEntries} are taken.`,
      });
      continue;
    }
    for (const entry of entries) {
      position += 1;
      const one = readEntry(entry, document, { profile, origin, position, trace });
      if (one.reading) decoded.readings.push(one.reading);
      decoded.refused.push(...one.refused);
      decoded.skipped += one.skipped;
      foreign ||= one.foreign;
    }
  }
  // A profile that finds nothing at all is the wrong one, and what it did not find must not vanish.
  if (decoded.readings.length === 0 && decoded.refused.length === 0 && !foreign) {
    const places = profile.values.map(({ at }) => at).join(', ');
    decoded.refused.push({
      reason: 'not-mapped',
      sentence: `None of the values the profile points at is there: ${places}.`,
    });
  }
  return decoded;
}

/** Never throws, whatever the payload. */
export function decodeMappedJson(
  payload: Uint8Array,
  profile: MappedProfile,
  origin: Origin,
  trace?: Trace,
): Decoded {
  let document: unknown;
  try {
    document = JSON.parse(utf8.decode(payload));
  } catch {
    return {
      readings: [],
      refused: [{ reason: 'not-json', sentence: 'The message is not JSON in UTF-8.' }],
      skipped: 0,
    };
  }
  return decodeMapped([document], profile, origin, trace);
}
