/** When to tune in the coming year, given how often: the weeks, why, and what they gain over even months. */
import type { Signal } from '@preact/signals';
import type { BestDates as Answer, Forecast } from '../../server/contract/index.ts';
import { Segments } from '../form/segments.tsx';
import { Said } from '../marks/said.tsx';
import { capital, plain } from '../words/numbers.ts';
import { weekOf } from './ahead.tsx';

const choices = ['1', '2', '3', '4', '5', '6'] as const;

interface BestProps {
  readonly best: Answer | null;
  readonly forecast: Forecast | null;
  readonly tunings: Signal<number>;
  readonly timeZone: string;
}

/** Under half a day either way there is nothing to weigh. */
function gainWords({ gainDays, gainLowDays, gainHighDays }: Answer): string {
  if (Math.abs(gainDays) < 0.5) return 'That is as good as tunings spread evenly over the year.';
  const range = `8 in 10 between ${plain(gainLowDays)} and ${plain(gainHighDays)}`;
  const days = Math.abs(gainDays) < 1.5 ? 'day' : 'days';
  return gainDays > 0
    ? `About ${plain(gainDays)} more ${days} than tunings spread evenly over the year; ${range}.`
    : `About ${plain(-gainDays)} fewer ${days} than tunings spread evenly over the year; ${range}.`;
}

export function BestDates({ best, forecast, tunings, timeZone }: BestProps) {
  const nothing = forecast !== null && forecast.timesMs.length === 0;
  return (
    <section class="best-dates" aria-labelledby="best-dates">
      <h2 id="best-dates">When to tune</h2>
      {nothing ? (
        <p class="quiet">{forecast.basis}</p>
      ) : (
        <>
          <Segments
            legend="Tunings in the coming year"
            name="tunings"
            value={choices.find((choice) => Number(choice) === tunings.value) ?? '2'}
            choices={choices.map((choice) => [choice, choice])}
            onChoose={(choice) => {
              tunings.value = Number(choice);
            }}
          />
          {best === null ? (
            <p class="quiet" role="status">
              Trying the weeks of the coming year …
            </p>
          ) : (
            <>
              <ol>
                {best.dates.map(({ atMs, why }) => (
                  <li key={atMs}>
                    <b>{capital(weekOf(atMs, timeZone).replace(/^the /, ''))}</b>
                    <span class="quiet">
                      <Said sentence={why} />
                    </span>
                  </li>
                ))}
              </ol>
              <p>
                {best.words} {gainWords(best)}
              </p>
            </>
          )}
        </>
      )}
    </section>
  );
}
