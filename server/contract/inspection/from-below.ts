/** From below with a lamp, or from behind on an upright: ribs and trapwork. Normal ranges as marked. */
import type { Group } from './item.ts';

export const fromBelow: readonly Group[] = [
  {
    id: 'ribs',
    stage: 'from below',
    assembly: 'soundboard and ribs',
    name: 'Ribs and board, from below',
    items: [
      {
        id: 'ribs.separated',
        name: 'Separated ribs',
        how: 'None: feeler along each rib. Widest gap.',
        measure: {
          unit: 'mm',
          normal: { low: null, high: 0 },
          plausible: { low: 0, high: 30 },
          source: 'common practice, no source',
        },
        quick: ['one rib', 'several', 'buzzes', 'treble end', 'long rib'],
        job: 'rib-repair',
        raisesRisk: 3,
        board: { part: 'separated rib', fromClass: 1 },
      },
      {
        id: 'ribs.posts',
        name: 'Beams, back posts, bridge roots',
        how: 'Glue joints closed.',
        quick: ['joint open', 'post loose', 'bridge root open'],
        job: 'closer-examination',
        raisesRisk: 2,
      },
    ],
  },
  {
    id: 'trapwork',
    stage: 'from below',
    assembly: 'pedals',
    name: 'Trapwork',
    items: [
      {
        id: 'trapwork.levers',
        name: 'Levers, springs, rods',
        how: 'Nothing loose, squeaking or bent.',
        quick: ['squeak', 'loose', 'spring weak', 'leather worn'],
        job: 'pedal-work',
        raisesRisk: 0,
        urgencyShift: -1,
      },
    ],
  },
];
