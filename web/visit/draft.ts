/** A visit while it is being written: every entry as it was typed, kept on this device until it is sent. */
import {
  type Finding,
  type PitchTaken,
  type Register,
  registers,
  type Visit,
} from '../../server/contract/index.ts';
import { newId } from '../form/new-id.ts';
import { type TemperatureUnit, temperatureUnit } from '../words/temperature.ts';
import { toInput } from '../words/zoned.ts';
import type { PitchUnit } from './pitch-arithmetic.ts';

/** What was typed and in which unit it was read: changing the unit shown never changes the reading. */
export interface Entry {
  readonly text: string;
  readonly unit: PitchUnit;
}
export type PitchEntries = Readonly<Record<Register, Entry>>;

export interface Draft {
  readonly version: 1;
  /** The visit's id, made here, so that sending it twice is the same. */
  readonly id: string;
  readonly instrumentId: string;
  /** By the venue's clock, as <input type="datetime-local"> writes it. */
  readonly at: string;
  readonly by: string;
  readonly humidity: string;
  readonly temperature: string;
  readonly temperatureUnit: TemperatureUnit;
  readonly scope: 'registers' | 'A4';
  readonly unit: PitchUnit;
  readonly found: PitchEntries;
  readonly left: PitchEntries;
  readonly unisonsFound: string;
  readonly unisonsLeft: string;
  readonly stringWork: boolean;
  readonly minutes: string;
  readonly note: string;
  readonly findings: readonly Finding[];
  readonly corrects: string | null;
}

const prefix = 'crownwatch:visit:';
const nameKey = 'crownwatch:technician';

function keyOf(instrumentId: string, corrects: string | null): string {
  return prefix + (corrects ?? instrumentId);
}

function entries(unit: PitchUnit, of: (register: Register) => Entry | null = () => null): PitchEntries {
  return Object.fromEntries(registers.map((r) => [r, of(r) ?? { text: '', unit }])) as PitchEntries;
}

function stored(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

export function freshDraft(instrumentId: string, timeZone: string): Draft {
  return {
    version: 1,
    id: newId(),
    instrumentId,
    at: toInput(Date.now(), timeZone),
    by: stored(nameKey) ?? '',
    humidity: '',
    temperature: '',
    temperatureUnit: temperatureUnit.value,
    scope: 'registers',
    unit: 'cents',
    found: entries('cents'),
    left: entries('cents'),
    unisonsFound: '',
    unisonsLeft: '',
    stringWork: false,
    minutes: '',
    note: '',
    findings: [],
    corrects: null,
  };
}

function typedEntries(taken: PitchTaken | null): PitchEntries {
  return entries('cents', (register) => {
    const reading = taken?.[register] ?? (register === 'middle' ? taken?.a4 : null) ?? null;
    return reading ? { text: String(reading.value), unit: reading.unit } : null;
  });
}

/** A correction begins as a copy of what it corrects. */
export function correctionOf(visit: Visit, timeZone: string): Draft {
  const text = (value: number | null) => (value === null ? '' : String(value));
  const readings = [visit.asFound, visit.asLeft].flatMap((taken) => (taken ? Object.values(taken) : []));
  const first = readings.find((reading) => reading !== null);
  const byRegister = [visit.asFound, visit.asLeft].some((taken) => taken && registers.some((r) => taken[r]));
  return {
    ...freshDraft(visit.instrumentId, timeZone),
    at: toInput(visit.atMs, timeZone),
    by: visit.by ?? '',
    humidity: text(visit.conditions.humidityPct),
    temperature: text(visit.conditions.temperatureC),
    temperatureUnit: 'C',
    scope: byRegister || !first ? 'registers' : 'A4',
    unit: first?.unit ?? 'cents',
    found: typedEntries(visit.asFound),
    left: typedEntries(visit.asLeft),
    unisonsFound: text(visit.unisonsFoundCents),
    unisonsLeft: text(visit.unisonsLeftCents),
    stringWork: visit.stringWork,
    minutes: text(visit.minutes),
    note: visit.note,
    findings: visit.findings,
    corrects: visit.id,
  };
}

export function keptDraft(instrumentId: string, corrects: string | null): Draft | null {
  const text = stored(keyOf(instrumentId, corrects));
  if (text === null) return null;
  try {
    const draft = JSON.parse(text) as Draft;
    return draft.version === 1 && draft.instrumentId === instrumentId ? draft : null;
  } catch {
    return null;
  }
}

/** All visits that are written here and not sent yet. */
export function keptDrafts(): Draft[] {
  try {
    return Object.keys(localStorage)
      .filter((key) => key.startsWith(prefix))
      .map((key) => JSON.parse(localStorage.getItem(key) ?? 'null') as Draft | null)
      .filter((draft): draft is Draft => draft !== null && draft.version === 1);
  } catch {
    return [];
  }
}

/** Gives whether this device keeps it. */
export function keepDraft(draft: Draft, corrects: string | null): boolean {
  try {
    localStorage.setItem(keyOf(draft.instrumentId, corrects), JSON.stringify(draft));
    return true;
  } catch {
    return false;
  }
}

export function dropDraft(instrumentId: string, corrects: string | null): void {
  try {
    localStorage.removeItem(keyOf(instrumentId, corrects));
  } catch {
    // Nothing was kept either.
  }
}

/** Whoever recorded a visit here is likely to record the next. */
export function rememberName(name: string): void {
  try {
    localStorage.setItem(nameKey, name);
  } catch {
    // It is typed again next time.
  }
}
