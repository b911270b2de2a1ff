/** What the technician wrote down beside the tunings, by instrument and by which of its visits (0 is the first). */
import type { Finding } from '../server/contract/index.ts';

export interface Noted {
  readonly instrument: string;
  readonly visit: number;
  readonly note?: string;
  readonly findings?: readonly Finding[];
}

function finding(
  assembly: Finding['assembly'],
  part: string,
  words: string,
  classes: readonly [Finding['conditionClass'], Finding['urgencyClass'], Finding['recommendationClass']],
  workProposed: string | null = null,
  estimatedMinutes: number | null = null,
  measured: Finding['measured'] = null,
): Finding {
  const [conditionClass, urgencyClass, recommendationClass] = classes;
  return {
    assembly,
    part,
    conditionClass,
    urgencyClass,
    recommendationClass,
    words,
    workProposed,
    estimatedMinutes,
    measured,
  };
}

export const noted: readonly Noted[] = [
  {
    instrument: 'practice-6',
    visit: 2,
    note: 'Stands in dry heat. Asked the caretaker about the radiator.',
    findings: [
      finding(
        'soundboard and ribs',
        'open crack',
        'Between the second and third rib from the treble end, opens in the heating season, buzzes on A3.',
        [2, 1, 2],
        'Shim the crack in a dry month',
        150,
        { value: 0.6, unit: 'mm' },
      ),
    ],
  },
  {
    instrument: 'studio-3',
    visit: 3,
    findings: [
      finding(
        'pinblock and pins',
        'loose pins',
        'Six pins in the low tenor turn at little more than the string asks.',
        [2, 2, 2],
        'Thin glue treatment of the tenor pins, then a check after a month',
        120,
        { value: 4.4, unit: 'N m' },
      ),
      finding(
        'hammers',
        'tenor',
        'Grooved, still felt enough for two reshapings.',
        [1, 0, 1],
        'Reshape',
        120,
      ),
    ],
  },
  {
    instrument: 'ellinbrae',
    visit: 1,
    note: 'Stove in the same room. Told the household about a bowl of water and that it is not enough.',
    findings: [
      finding('keys', 'bushings, middle', 'Loose side play over two octaves.', [1, 0, 1], 'Rebush', 420, {
        value: 0.6,
        unit: 'mm',
      }),
    ],
  },
  {
    instrument: 'vossarand',
    visit: 1,
    findings: [
      finding(
        'centres',
        'hammer flanges',
        'Several sluggish, worse towards the wall.',
        [2, 1, 1],
        'Repin as found',
        90,
      ),
      finding('strings', 'plain wire', 'First rust in the treble.', [1, 1, 1]),
    ],
  },
  {
    instrument: 'nave',
    visit: 1,
    note: 'Nothing is heated here; tuned to the temperature of the day, organ compared.',
    findings: [finding('felts and cleanliness', 'key frame', 'Old moth damage, no larvae.', [1, 0, 1])],
  },
  { instrument: 'lecture', visit: 1, note: 'Two strings muted for the examinations at the school’s wish.' },
  {
    instrument: 'studio-4-a',
    visit: 3,
    note: 'Tank of the humidity control found empty, filled, plugged in again.',
  },
  {
    instrument: 'auditorium-a',
    visit: 5,
    note: 'Before a series of concerts. Went over the tenor break twice.',
  },
  { instrument: 'brannoway', visit: 2, note: 'Humidity control running, tank filled by the household.' },
];
