/** What is being written at the instrument: plain data, changed by replacing it, kept on the device after every change. */
import type {
  Class0to3,
  Kind,
  Option,
  PhotoNote,
  PinFeel,
  Register,
  VisitBrief,
} from '../../server/contract/index.ts';
import { registers } from '../../server/contract/index.ts';
import { newId } from '../form/new-id.ts';
import type { PitchEntries } from '../visit/draft.ts';

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
  readonly by: string;
  readonly humidity: string;
  readonly temperature: string;
  readonly answers: Readonly<Record<string, Answer>>;
  readonly pins: readonly PinEntry[];
  /** With A4 alone its reading stands under the middle, whose sample note it is. */
  readonly scope: 'registers' | 'A4';
  readonly pitchUnit: 'cents' | 'Hz';
  readonly found: PitchEntries;
  readonly left: PitchEntries;
  readonly unisonsFound: string;
  readonly unisonsLeft: string;
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
}

const noPitch = Object.fromEntries(
  registers.map((register) => [register, { text: '', unit: 'cents' }]),
) as PitchEntries;

/** The registers whose readings are asked for. */
export const pitchShown = (draft: Pick<SheetDraft, 'scope'>): readonly Register[] =>
  draft.scope === 'A4' ? ['middle'] : registers;

export function freshDraft(brief: VisitBrief, by: string, nowMs: number): SheetDraft {
  const { air } = brief;
  // A sensor that has long been silent says nothing of today.
  const fresh = air && nowMs - air.timeMs < 6 * 3_600_000 ? air : null;
  return {
    version: 1,
    id: newId(),
    instrumentId: brief.instrumentId,
    kind: brief.kind,
    beganMs: nowMs,
    by,
    humidity: fresh?.humidityPct?.toFixed(0) ?? '',
    temperature: fresh?.temperatureC?.toFixed(1) ?? '',
    answers: {},
    pins: [],
    scope: 'registers',
    pitchUnit: 'cents',
    found: noPitch,
    left: noPitch,
    unisonsFound: '',
    unisonsLeft: '',
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
  };
}
