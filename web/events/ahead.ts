/** The events ahead, kept current as fast as there is something to wait for. */
import { useLive } from '../service/live.ts';

/**
 * The odds of an event just entered are worked out within seconds, and whoever entered it waits for them: while any
 * cannot be told yet, it is asked more often.
 */
export function useEventsAhead() {
  const live = useLive('eventsAhead', {}, 60_000);
  const waits = live.answer.value?.some((event) => event.tuned === null) ?? false;
  useLive('eventsAhead', {}, waits ? 5_000 : 60_000);
  return live;
}
