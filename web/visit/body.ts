/** From what was typed to what is sent. */
import {
  type PitchReading,
  type PitchTaken,
  type Register,
  registers,
  type VisitBody,
} from '../../server/contract/index.ts';
import { Entries } from '../form/entries.ts';
import { fromInput } from '../words/zoned.ts';
import type { Draft, PitchEntries } from './draft.ts';

type Side = 'asFound' | 'asLeft';

function takenOf(side: Side, of: PitchEntries, scope: Draft['scope'], entries: Entries): PitchTaken | null {
  const reading = (register: Register): PitchReading | null => {
    const { text, unit } = of[register];
    const value = entries.optional(`${side}.${register}`, text);
    return value === null ? null : { unit, value };
  };
  const nothing: PitchTaken = { a4: null, bass: null, tenor: null, middle: null, treble: null, top: null };
  const taken =
    scope === 'A4'
      ? { ...nothing, a4: reading('middle') }
      : { ...nothing, ...Object.fromEntries(registers.map((r) => [r, reading(r)])) };
  return Object.values(taken).some((value) => value !== null) ? taken : null;
}

/** @throws Refusal naming the fields that cannot be read, or saying that there is nothing in it. */
export function bodyOf(draft: Draft, timeZone: string): VisitBody {
  const entries = new Entries();
  const atMs = fromInput(draft.at, timeZone);
  if (atMs === null) entries.fault('atMs', 'A day and a time are needed here.');
  const temperature = entries.optional('conditions.temperatureC', draft.temperature);
  const whole = entries.optional('minutes', draft.minutes);
  const body: VisitBody = {
    instrumentId: draft.instrumentId,
    atMs: atMs ?? 0,
    by: draft.by.trim() === '' ? null : draft.by.trim(),
    conditions: {
      humidityPct: entries.optional('conditions.humidityPct', draft.humidity),
      temperatureC:
        temperature === null || draft.temperatureUnit === 'C'
          ? temperature
          : Math.round(((temperature - 32) / 1.8) * 100) / 100,
    },
    asFound: takenOf('asFound', draft.found, draft.scope, entries),
    asLeft: takenOf('asLeft', draft.left, draft.scope, entries),
    unisonsFoundCents: entries.optional('unisonsFoundCents', draft.unisonsFound),
    unisonsLeftCents: entries.optional('unisonsLeftCents', draft.unisonsLeft),
    stringWork: draft.stringWork,
    minutes: whole === null ? null : Math.round(whole),
    note: draft.note.trim(),
    findings: [...draft.findings],
    corrects: draft.corrects,
  };
  entries.check();
  return body;
}
