/**
 * What of the watch can be set, by whom, and what it is where nobody set it. A value holds where it was given and
 * below: organisation, venue, room, instrument; the nearest one counts.
 */
import * as z from 'zod/mini';
import { id } from './quantities.ts';
import { type RuleName, rules } from './watch.ts';

export const scopes = ['organisation', 'venue', 'room', 'instrument'] as const;
export const scope = z.enum(scopes);
export type Scope = z.infer<typeof scope>;

interface Definition {
  readonly usual: number;
  readonly least: number;
  readonly most: number;
  readonly unit: string;
  readonly says: string;
}

const of = (usual: number, least: number, most: number, unit: string, says: string): Definition => ({
  usual,
  least,
  most,
  unit,
  says,
});

/** Begin and end thresholds and least durations; common practice or proposals, see DEVELOPERS.md. */
const thresholds = {
  'pitch begins': of(
    0.8,
    0.5,
    0.99,
    'chance',
    'A pitch notice begins at this chance of being out of tolerance',
  ),
  'pitch ends': of(0.6, 0.1, 0.98, 'chance', 'and is over below this one'),
  'pitch days': of(3, 0, 30, 'days', 'once it has lasted so long'),
  'pitch stays': of(0.5, 0, 0.99, 'chance', 'and will be out in 21 days with at least this chance'),
  'unisons begin': of(
    0.8,
    0.5,
    0.99,
    'chance',
    'A notice of unisons begins at this chance of being too wide',
  ),
  'unisons end': of(0.6, 0.1, 0.98, 'chance', 'and is over below this one'),
  'event begins': of(
    0.3,
    0.05,
    0.95,
    'chance',
    'An event is called unsteady at this chance of moving 2 cents',
  ),
  'event ends': of(0.2, 0.01, 0.94, 'chance', 'and steady again below this one'),
  'event tuning days': of(2, 0, 14, 'days', 'A piano is tuned so many days before an event that uses it'),
  'board begins': of(0.5, 0.2, 1.5, 'share', 'A board notice begins at this share of the strain allowed'),
  'board ends': of(0.45, 0.1, 1.4, 'share', 'and is over below this one'),
  'board hours': of(24, 1, 240, 'hours', 'once it has lasted so long'),
  'swing day': of(10, 3, 50, '%RH', 'The air swings when a day holds more than this'),
  'swing week': of(15, 3, 60, '%RH', 'or a week more than this'),
  'swing ends': of(0.8, 0.2, 0.99, 'share', 'and is steady again below this share of both'),
  'sweat begins': of(1, 0, 5, 'K', 'Sweat is near when the plate is less than this above the dew point'),
  'sweat ends': of(2, 0.1, 8, 'K', 'and past when it is more than this above'),
  'damp begins': of(60, 45, 90, '%RH', 'The action is called damp when three days average more than this'),
  'damp ends': of(57, 40, 89, '%RH', 'and dry again below this'),
  'pins begin': of(30, 10, 45, '%RH', 'Pins may loosen when 14 days average less than this'),
  'pins end': of(33, 11, 50, '%RH', 'and are safe again above this'),
  'rust hours': of(48, 6, 168, 'hours', 'Rust is near after so many hours over 65 %RH in a week'),
  'rust ends': of(24, 0, 167, 'hours', 'and past below so many'),
  'mould begins': of(1, 0.2, 5, 'index', 'A mould notice begins at this index'),
  'mould ends': of(0.7, 0, 4.9, 'index', 'and is over below this one'),
  'frost humidity': of(30, 10, 45, '%RH', 'Frost is foretold when it would bring heated air below this'),
  'silent intervals': of(3, 2, 100, 'intervals', 'A sensor is silent after so many missed intervals'),
  'stuck hours': of(24, 6, 240, 'hours', 'A sensor is stuck when it stood still so long while others moved'),
  'off points': of(5, 2, 20, '%RH', 'A sensor is off when it stands this far from its neighbours for a week'),
  'battery begins': of(15, 1, 60, '%', 'A battery is low below this'),
  'battery ends': of(25, 2, 90, '%', 'and good above this'),
  'tunings a year': of(0, 0, 52, 'tunings', 'Tunings a year; 0: what is usual for its use'),
  'inspections a year': of(1, 0, 12, 'inspections', 'Inspections a year; 0: none'),
} as const satisfies Record<string, Definition>;

type Thresholds = keyof typeof thresholds;
export type SettingName = Thresholds | `watch ${RuleName}`;

const switches = Object.fromEntries(
  rules.map((one) => [`watch ${one}`, of(1, 0, 1, 'on or off', `Watch for ${one}`)]),
) as Record<`watch ${RuleName}`, Definition>;

export const settingTable: Readonly<Record<SettingName, Definition>> = { ...thresholds, ...switches };
export const settingNames = Object.keys(settingTable) as SettingName[];
export type Settings = Readonly<Record<SettingName, number>>;

/** An end threshold that does not lie on the quiet side of its begin threshold lets a notice flap or never end. */
export const endsBelow: readonly (readonly [begin: Thresholds, end: Thresholds])[] = [
  ['pitch begins', 'pitch ends'],
  ['unisons begin', 'unisons end'],
  ['event begins', 'event ends'],
  ['board begins', 'board ends'],
  ['damp begins', 'damp ends'],
  ['rust hours', 'rust ends'],
  ['mould begins', 'mould ends'],
];
export const endsAbove: readonly (readonly [begin: Thresholds, end: Thresholds])[] = [
  ['sweat begins', 'sweat ends'],
  ['pins begin', 'pins end'],
  ['battery begins', 'battery ends'],
];

/** @returns one sentence a contradiction; none for settings that can be kept. */
export function contradictions(settings: Settings): { field: SettingName; sentence: string }[] {
  const at = (name: Thresholds) => `${settings[name]} (${name})`;
  return [
    ...endsBelow
      .filter(([begin, end]) => settings[end] >= settings[begin])
      .map(([begin, end]) => ({
        field: end,
        sentence: `${end}: must be below ${at(begin)}, else a notice could not end`,
      })),
    ...endsAbove
      .filter(([begin, end]) => settings[end] <= settings[begin])
      .map(([begin, end]) => ({
        field: end,
        sentence: `${end}: must be above ${at(begin)}, else a notice could not end`,
      })),
    ...(settings['swing day'] > settings['swing week']
      ? [{ field: 'swing week' as const, sentence: `swing week: must be at least ${at('swing day')}` }]
      : []),
  ];
}

const settingName = z
  .string()
  .check(z.refine((name) => name in settingTable, 'must be the name of a setting'));
/** null takes a value back, so that what is set above counts again. */
export const settingsBody = z.object({ values: z.record(settingName, z.nullable(z.number())) }).check(
  z.superRefine(({ values }, context) => {
    for (const [name, value] of Object.entries(values)) {
      const definition = settingTable[name as SettingName];
      if (value === null || !definition) continue;
      if (value < definition.least || value > definition.most) {
        context.addIssue({
          code: 'custom',
          path: ['values', name],
          message: `must be ${definition.least} to ${definition.most} ${definition.unit}`,
        });
      }
    }
  }),
);
export type SettingsBody = z.infer<typeof settingsBody>;

export const settingsPage = z.object({
  scope,
  scopeId: id,
  settings: z.array(
    z.object({
      name: z.string(),
      says: z.string(),
      unit: z.string(),
      least: z.number(),
      most: z.number(),
      value: z.number(),
      /** "usual", "from the organisation", "from the venue", "from the room", "set here". */
      from: z.string(),
      own: z.boolean(),
    }),
  ),
});
export type SettingsPage = z.infer<typeof settingsPage>;
