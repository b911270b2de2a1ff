/** Which settings stand together, and in what order they read as sentences. */
import type { SettingName, SettingsPage } from '../../server/contract/index.ts';

type Setting = SettingsPage['settings'][number];

const groups: readonly (readonly [heading: string, names: readonly SettingName[]])[] = [
  ['Pitch', ['watch pitch-out', 'pitch begins', 'pitch days', 'pitch stays', 'pitch ends']],
  ['Unisons', ['watch unisons-out', 'unisons begin', 'unisons end']],
  ['Events', ['watch event-unsteady', 'event tuning days', 'event begins', 'event ends']],
  ['Soundboard', ['watch board-dry', 'watch board-wet', 'board begins', 'board hours', 'board ends']],
  ['Swings of the air', ['watch swing', 'swing day', 'swing week', 'swing ends']],
  ['Sweat', ['watch sweat', 'sweat begins', 'sweat ends']],
  ['Action', ['watch action-wet', 'damp begins', 'damp ends']],
  ['Tuning pins', ['watch pins-dry', 'pins begin', 'pins end']],
  ['Rust and mould', ['watch rust', 'rust hours', 'rust ends', 'watch mould', 'mould begins', 'mould ends']],
  ['Frost', ['watch frost-ahead', 'frost humidity']],
  ['Humidity control', ['watch control-lost']],
  [
    'Services and findings',
    ['watch service-due', 'tunings a year', 'inspections a year', 'watch finding-open'],
  ],
  [
    'Sensors',
    [
      'watch sensor-silent',
      'silent intervals',
      'watch sensor-stuck',
      'stuck hours',
      'watch sensor-off',
      'off points',
    ],
  ],
  ['Batteries', ['watch battery-low', 'battery begins', 'battery ends']],
];

/** Every setting the service names stands in exactly one group: what no group knows comes last. */
export function grouped(settings: readonly Setting[]): { heading: string; settings: Setting[] }[] {
  const known = new Set<string>(groups.flatMap(([, names]) => names));
  const listed = groups.map(([heading, names]) => ({
    heading,
    settings: names.flatMap((name) => settings.find((one) => one.name === name) ?? []),
  }));
  const others = settings.filter(({ name }) => !known.has(name));
  return [...listed, { heading: 'Other', settings: others }].filter((group) => group.settings.length > 0);
}

/** "watch pitch-out" is on or off. */
export const isSwitch = ({ unit }: Setting): boolean => unit === 'on or off';
