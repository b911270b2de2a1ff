/** Who is in the room? People warm it and wet it: about 55 g of water and 90 W each, sitting (from memory). */
import { localTime, stepMs } from './clock.ts';
import { chance } from './random.ts';

export const waterPerPersonGh = 55;

export type Habit =
  | { readonly kind: 'family'; readonly persons: number; readonly outAtWork: boolean }
  | { readonly kind: 'practice' }
  | { readonly kind: 'studio' }
  | { readonly kind: 'ensemble'; readonly persons: number }
  | { readonly kind: 'concerts'; readonly persons: number }
  | { readonly kind: 'sundays'; readonly persons: number }
  | { readonly kind: 'parish'; readonly persons: number };

/** Between terms: July to mid September, and from before Christmas to after Epiphany. */
function betweenTerms(season: number): boolean {
  return (season > 0.52 && season < 0.71) || season > 0.968 || season < 0.017;
}

/** The chance that a room of this habit is in use at this hour. */
function inUse(habit: Habit, weekday: number, hour: number, season: number): number {
  const holidays = betweenTerms(season);
  switch (habit.kind) {
    case 'practice':
      if (hour < 8 || hour >= 21.5) return 0;
      return (weekday < 5 ? 0.75 : 0.4) * (holidays ? 0.3 : 1);
    case 'studio':
      if (weekday > 4 || hour < 9 || hour >= 18) return 0;
      return holidays ? 0.12 : 0.65;
    case 'ensemble':
      if (weekday > 4 || hour < 14 || hour >= 20) return 0;
      return holidays ? 0.05 : 0.5;
    case 'concerts':
      return (weekday === 4 || weekday === 5) && hour >= 19 && hour < 22 && !holidays ? 1 : 0;
    case 'sundays':
      return weekday === 6 && hour >= 9.5 && hour < 11 ? 1 : 0;
    case 'parish':
      return weekday < 5 && hour >= 17 && hour < 20 ? 0.45 : 0;
    case 'family':
      if (habit.outAtWork && weekday < 5 && hour >= 8 && hour < 16) return 0;
      // Asleep elsewhere in the house, which shares its air with this room.
      return hour < 7 || hour >= 23 ? 0.4 : 1;
  }
}

function howMany(habit: Habit, draw: number): number {
  if (habit.kind === 'practice') return 1;
  if (habit.kind === 'studio') return 2;
  return habit.persons * (0.7 + 0.6 * draw);
}

/** @returns a function giving the number of people in the room at a step; asked once for each step, in order. */
export function people(label: string, habit: Habit): (timeMs: number) => number {
  const stream = chance(label);
  let present = 0;
  let untilMs = 0;
  return (timeMs) => {
    if (timeMs >= untilMs) {
      // Comings and goings are settled once for each half hour.
      untilMs = timeMs + 3 * stepMs;
      const { weekday, hour, season } = localTime(timeMs);
      const use = stream.uniform();
      const draw = stream.uniform();
      present = use < inUse(habit, weekday, hour, season) ? howMany(habit, draw) : 0;
    }
    return present;
  };
}
