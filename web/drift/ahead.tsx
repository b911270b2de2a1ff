/** What the forecast adds to the advice: whether to tune, and when. */
import type { BestDates, Forecast } from '../../server/contract/index.ts';
import { Said } from '../marks/said.tsx';
import { nowMs } from '../service/now.ts';
import { dayMs, longDay } from '../words/times.ts';

type Advice = NonNullable<Forecast['decision']>['advice'];

const adviceWords: Readonly<Record<Advice, string>> = {
  'leave it': 'leave it for now',
  wait: 'wait',
  'touch up unisons': 'touch up the unisons',
  tune: 'tune it',
};

interface AheadProps {
  readonly forecast: Forecast | null;
  readonly best: BestDates | null;
  readonly timeZone: string;
}

const halfWeekMs = 3 * dayMs;

/** "the week from 18 December", "this week": no forecast knows the day itself. */
export function weekOf(atMs: number, timeZone: string): string {
  const fromMs = atMs - halfWeekMs;
  return fromMs <= nowMs.peek() ? 'this week' : `the week from ${longDay(fromMs, timeZone, nowMs.peek())}`;
}

function When({ forecast, best, timeZone }: AheadProps) {
  if (forecast?.wait) {
    return (
      <p>
        <b>Better to wait until {longDay(forecast.wait.untilMs, timeZone, nowMs.value)}.</b>{' '}
        <Said sentence={forecast.wait.why} />
      </p>
    );
  }
  const advice = forecast?.decision?.advice;
  const first = best?.dates.find(({ atMs }) => atMs > nowMs.value - halfWeekMs);
  if (!first || (advice !== 'tune' && advice !== 'touch up unisons')) return null;
  const week = weekOf(first.atMs, timeZone);
  return week === 'this week' ? (
    <p>
      <b>This week</b> serves the coming year best.
    </p>
  ) : (
    <p>
      <b>If it may be put off:</b> {week} serves the coming year best.
    </p>
  );
}

export function Ahead({ forecast, best, timeZone }: AheadProps) {
  if (!forecast) return null;
  if (!forecast.decision) return <p class="ahead quiet">{forecast.basis}</p>;
  const { advice, because } = forecast.decision;
  return (
    <div class="ahead">
      <p>
        <b>By the forecast: {adviceWords[advice]}.</b> <Said sentence={because} />
      </p>
      <When forecast={forecast} best={best} timeZone={timeZone} />
    </div>
  );
}
