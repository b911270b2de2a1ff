/** One plain number per message; the topic says which sensor and what was measured. */

import { checkRange } from '../checks/range.ts';
import { numberOf, type Trace } from './mapped.ts';
import type { Decoded, Origin } from './pack.ts';
import { converted, type PlainValueProfile } from './profile.ts';
import { sensorNamed } from './sensor-name.ts';

const utf8 = new TextDecoder('utf-8', { fatal: true });
const longest = 40;

function levelsOf(topic: string, pattern: string): { sensor: string; quantity: string } | null {
  const wanted = pattern.split('/');
  const given = topic.split('/');
  if (wanted.length !== given.length) return null;
  const found = { sensor: '', quantity: '' };
  for (const [at, level] of wanted.entries()) {
    const here = given[at] ?? '';
    if (level === '{sensor}') found.sensor = here;
    else if (level === '{quantity}') found.quantity = here;
    else if (level !== '+' && level !== here) return null;
  }
  return found;
}

/** Never throws, whatever the payload. It is of now: a plain number carries no time. */
export function decodePlainValue(
  payload: Uint8Array,
  topic: string,
  { profile, origin }: { profile: PlainValueProfile; origin: Origin },
  trace?: Trace,
): Decoded {
  const refuse = (reason: 'not-mapped' | 'no-value' | 'out-of-range', sentence: string): Decoded => ({
    readings: [],
    refused: [{ reason, sentence }],
    skipped: 0,
  });
  const found = levelsOf(topic, profile.topic);
  if (!found) return refuse('not-mapped', `The topic ${topic.slice(0, 100)} is not like ${profile.topic}.`);
  const sensor = found.sensor.trim() === '' ? null : sensorNamed(`${profile.prefix ?? ''}${found.sensor}`);
  trace?.({
    entry: 1,
    means: 'sensor',
    at: '{sensor}',
    found: found.sensor,
    kept: sensor,
    fault: sensor === null ? 'cannot be a sensor’s name' : null,
  });
  if (sensor === null)
    return refuse('not-mapped', `“${found.sensor.slice(0, 100)}” in the topic cannot be a sensor's name.`);
  // What the profile does not name is another quantity than ours.
  if (!Object.hasOwn(profile.quantities, found.quantity)) return { readings: [], refused: [], skipped: 1 };
  const measure = profile.quantities[found.quantity];
  if (!measure) return { readings: [], refused: [], skipped: 1 };
  let number: number | null | undefined;
  try {
    number = payload.length <= longest ? numberOf(utf8.decode(payload)) : undefined;
  } catch {
    number = undefined;
  }
  if (typeof number !== 'number') return refuse('no-value', 'The message is not one plain number.');
  const inRange = checkRange(measure.quantity, converted(number, measure));
  trace?.({
    entry: 1,
    means: measure.quantity,
    at: found.quantity,
    found: String(number),
    kept: 'value' in inRange ? inRange.value : null,
    fault: 'sentence' in inRange ? inRange.sentence : null,
  });
  if ('sentence' in inRange) return refuse('out-of-range', `${sensor}: ${inRange.sentence}.`);
  const { organisation, nowMs } = origin;
  return {
    readings: [{ organisation, sensor, timeMs: nowMs, [measure.quantity]: inRange.value }],
    refused: [],
    skipped: 0,
  };
}
