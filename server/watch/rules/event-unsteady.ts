import type { Situation } from '../situation.ts';
import { dayName, odds, restsOn } from '../wording.ts';
import { atOnce, type Rule } from './rule.ts';

/** The event that is least sure to be played on a steady piano. */
function worst({ outlook }: Situation): NonNullable<Situation['outlook']>['events'][number] | null {
  const known = (outlook?.events ?? []).filter((event) => event.unsteady !== null);
  return known.reduce<(typeof known)[number] | null>(
    (far, one) => (far === null || (one.unsteady ?? 0) > (far.unsteady ?? 0) ? one : far),
    null,
  );
}

/** A concert always asks for a tuning; this speaks only when that tuning would not hold. */
export const eventUnsteady: Rule = {
  name: 'event-unsteady',
  basis: 'outlook',
  durations: () => atOnce,
  measure(situation) {
    const chance = worst(situation)?.unsteady ?? 0;
    return {
      over: chance >= situation.settings['event begins'],
      quiet: chance < situation.settings['event ends'],
    };
  },
  severity: () => 2,
  say(situation) {
    const event = worst(situation);
    if (!event) throw new Error('event-unsteady speaks only of an event');
    const { instrument, nowMs } = situation;
    const day = dayName(event.startMs, instrument.timeZone, nowMs);
    const holds = odds(1 - (event.unsteady ?? 0));
    return {
      what: `A tuning ${dayName(event.tuneMs, instrument.timeZone, nowMs)} would hold for ${event.name} on ${day} in ${holds}, ${restsOn(situation.outlook?.comingBy === 'forecast')}.`,
      why: 'The board moves more than two cents’ worth in so many days, or enough for its unisons to spread.',
      toDo: 'Tune later, have the room held steady, or plan a touch-up in the interval.',
      toVenue: `For ${event.name} on ${day} the piano stays in tune in ${holds}. Keep heating and windows as they are from now until then.`,
      toClient: '',
      notBeforeMs: null,
      minutes: 0,
      evidence: { 'chance of moving over 2 cents, or unisons spreading': event.unsteady, event: event.name },
    };
  },
};
