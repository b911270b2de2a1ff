/** What steadier air would save at a venue: the what-ifs of its instruments added up. Plain sums, said with their ranges. */
import type { WhatIfPage, YearPlan } from '../../server/contract/index.ts';

export interface Asked {
  readonly instrument: YearPlan['instruments'][number];
  /** What the service worked out, or why it could not. */
  readonly result: WhatIfPage | string;
}

export interface Saving {
  readonly answered: number;
  /** Hours a year of tuning whenever one has been out of tolerance for two weeks. */
  readonly asItIsHours: number;
  readonly changedHours: number;
  /** Hours fewer; negative: more. The ends are those of each piano added up, a wider range than the sum's own. */
  readonly savedHours: number;
  readonly leastHours: number;
  readonly mostHours: number;
  /** Of the hours the plan has for these pianos' tunings, and what is left of them in the same proportion. */
  readonly plannedHours: number;
  readonly leftHours: number;
  /** Days a year, the mean of the pianos: out of tolerance, and with the board past half of what it can bear. */
  readonly daysBeyond: readonly [asItIs: number, changed: number];
  readonly boardDays: readonly [asItIs: number, changed: number];
  /** Litres a year; null where a room's volume or air changes are not known. */
  readonly litresAdded: number | null;
}

/** null until one piano was answered. */
export function savingOf(asked: readonly Asked[]): Saving | null {
  const answers = asked.flatMap(({ instrument, result }) =>
    typeof result === 'string' ? [] : [{ instrument, ...result }],
  );
  if (answers.length === 0) return null;
  const sum = (of: (one: (typeof answers)[number]) => number) =>
    answers.reduce((total, one) => total + of(one), 0);
  const mean = (of: (one: (typeof answers)[number]) => number) => sum(of) / answers.length;
  const hours = ({ instrument }: (typeof answers)[number], tunings: number) =>
    (tunings * instrument.tuningMinutes) / 60;
  const strained = (set: (typeof answers)[number]['pastYear']['boardDays'], of: 'asItIs' | 'changed') =>
    set.reduce((total, one) => total + one[of], 0);
  const asItIsHours = sum((one) => hours(one, one.pastYear.tunings.asItIs));
  const changedHours = sum((one) => hours(one, one.pastYear.tunings.changed));
  const plannedHours = sum((one) => hours(one, one.instrument.tunings));
  const litres = answers.map(({ litresAdded }) => litresAdded);
  return {
    answered: answers.length,
    asItIsHours,
    changedHours,
    savedHours: 0 - sum((one) => hours(one, one.pastYear.tunings.by)),
    leastHours: 0 - sum((one) => hours(one, one.pastYear.tunings.high)),
    mostHours: 0 - sum((one) => hours(one, one.pastYear.tunings.low)),
    plannedHours,
    leftHours: asItIsHours === 0 ? plannedHours : (plannedHours * changedHours) / asItIsHours,
    daysBeyond: [
      mean(({ pastYear }) => pastYear.daysBeyond.asItIs),
      mean(({ pastYear }) => pastYear.daysBeyond.changed),
    ],
    boardDays: [
      mean(({ pastYear }) => strained(pastYear.boardDays, 'asItIs')),
      mean(({ pastYear }) => strained(pastYear.boardDays, 'changed')),
    ],
    litresAdded: litres.includes(null) ? null : litres.reduce<number>((total, one) => total + (one ?? 0), 0),
  };
}
