/** What is being written at the instrument: plain data, changed by replacing it, kept on the device after every change. */
import type {
  Class0to3,
  Finding,
  Kind,
  Option,
  PhotoNote,
  PinFeel,
  Register,
  VisitBrief,
} from '../../server/contract/index.ts';
import { registers } from '../../server/contract/index.ts';
import { newId } from '../form/new-id.ts';
import { inUnit, type TemperatureUnit, temperatureUnit } from '../words/temperature.ts';
import type { PitchUnit } from './pitch-arithmetic.ts';
import type { UnisonEntries } from './unison-entries.ts';

/** What was typed and in which unit it was read: changing the unit shown never changes the reading. */
export interface Entry {
  readonly text: string;
  readonly unit: PitchUnit;
}
export type PitchEntries = Readonly<Record<Register, Entry>>;

export interface Answer {
  /** null: not examined. */
  readonly conditionClass: Class0to3 | null;
  readonly why: string;
  readonly quick: readonly string[];
  readonly words: string;
  readonly value: string;
  readonly unit: string;
  readonly lowNote: string;
  readonly highNote: string;
  /** null: as proposed. */
  readonly urgencyClass: Class0to3 | null;
  readonly recommendationClass: Class0to3 | null;
  readonly causedBy: string | null;
  readonly earlier: readonly {
    readonly conditionClass: Class0to3;
    readonly atMs: number;
    readonly why: string;
  }[];
}

export interface PinEntry {
  readonly section: 'bass' | 'tenor' | 'treble' | 'top';
  readonly torque: string;
  readonly unit: string;
  readonly feel: PinFeel | null;
  readonly holds: boolean | null;
}

export interface LineChange {
  readonly option?: Option;
  readonly likely?: string;
  readonly parts?: string;
  readonly dropped?: boolean;
}

export interface SheetDraft {
  readonly version: 1;
  readonly id: string;
  readonly instrumentId: string;
  readonly kind: Kind;
  readonly beganMs: number;
  /** With the assemblies; else a tuning alone. */
  readonly inspects: boolean;
  /** By the venue's clock, as <input type="datetime-local"> writes it; '' is when it is closed. */
  readonly at: string;
  readonly by: string;
  readonly humidity: string;
  readonly temperature: string;
  readonly temperatureUnit: TemperatureUnit;
  readonly answers: Readonly<Record<string, Answer>>;
  readonly pins: readonly PinEntry[];
  /** With A4 alone its reading stands under the middle, whose sample note it is. */
  readonly scope: 'registers' | 'A4';
  readonly pitchUnit: 'cents' | 'Hz';
  readonly found: PitchEntries;
  readonly left: PitchEntries;
  readonly unisonsFound: string;
  readonly unisonsLeft: string;
  /** Register by register, where they were sampled so. */
  readonly unisonsBy: { readonly found: UnisonEntries; readonly left: UnisonEntries };
  readonly stringWork: boolean;
  readonly minutes: string;
  readonly note: string;
  readonly takenOff: string;
  readonly workDone: readonly { readonly job: string; readonly minutes: string }[];
  readonly control: Readonly<Record<string, { readonly state: string; readonly action: string }>>;
  readonly photos: readonly PhotoNote[];
  readonly remarks: Readonly<Record<string, string>>;
  readonly lines: Readonly<Record<string, LineChange>>;
  readonly signature: { readonly by: string; readonly strokes: readonly (readonly number[])[] };
  /** The last look has begun: a grade changed from now on keeps the first beside it. */
  readonly lastLook: boolean;
  /** The visit this one corrects; it stays, and this takes its place. */
  readonly corrects: string | null;
  /** Findings of a corrected visit that no item of today stands for: kept as they were. */
  readonly carried: readonly Finding[];
}

export const pitchEntries = (of: (register: Register) => Entry | null = () => null): PitchEntries =>
  Object.fromEntries(
    registers.map((register) => [register, of(register) ?? { text: '', unit: 'cents' }]),
  ) as PitchEntries;

/** A draft that an older version of the page kept lacks what came later. */
export const asOfNow = (draft: SheetDraft): SheetDraft => ({
  ...{
    inspects: true,
    at: '',
    temperatureUnit: 'C',
    unisonsBy: { found: {}, left: {} },
    corrects: null,
    carried: [],
  },
  ...draft,
});

/** The registers whose readings are asked for. */
export const pitchShown = (draft: Pick<SheetDraft, 'scope'>): readonly Register[] =>
  draft.scope === 'A4' ? ['middle'] : registers;

/** @param inspects with the assemblies, or a tuning alone */
export function freshDraft(brief: VisitBrief, by: string, nowMs: number, inspects: boolean): SheetDraft {
  const { air } = brief;
  // A sensor that has long been silent says nothing of today.
  const fresh = air && nowMs - air.timeMs < 6 * 3_600_000 ? air : null;
  return {
    version: 1,
    id: newId(),
    instrumentId: brief.instrumentId,
    kind: brief.kind,
    beganMs: nowMs,
    inspects,
    at: '',
    by,
    humidity: fresh?.humidityPct?.toFixed(0) ?? '',
    temperature: typeof fresh?.temperatureC === 'number' ? inUnit(fresh.temperatureC).toFixed(1) : '',
    temperatureUnit: temperatureUnit.value,
    answers: {},
    pins: [],
    scope: 'registers',
    pitchUnit: 'cents',
    found: pitchEntries(),
    left: pitchEntries(),
    unisonsFound: '',
    unisonsLeft: '',
    unisonsBy: { found: {}, left: {} },
    stringWork: false,
    minutes: '',
    note: '',
    takenOff: '',
    workDone: [],
    control: {},
    photos: [],
    remarks: {},
    lines: {},
    signature: { by, strokes: [] },
    lastLook: false,
    corrects: null,
    carried: [],
  };
}
