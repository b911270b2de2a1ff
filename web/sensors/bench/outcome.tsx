/** What a profile makes of a message, place by place, and the readings that come of it. */
import type { BenchOutcome, BenchStep } from '../../../server/contract/index.ts';
import { Heads, number } from '../../marks/heads.tsx';
import { Scroll } from '../../marks/scroll.tsx';
import { capital, count, percent, plain } from '../../words/numbers.ts';
import { degrees } from '../../words/temperature.ts';
import { moment } from '../../words/times.ts';

const means = {
  sensor: 'the sensor',
  time: 'the time',
  humidityPct: 'humidity',
  temperatureC: 'temperature',
  batteryPct: 'battery',
} as const;

function keptWords({ means: what, kept }: BenchStep, timeZone: string): string {
  if (kept === null) return '';
  if (typeof kept === 'string') return kept;
  if (what === 'time') return moment(kept, timeZone);
  return what === 'temperatureC' ? degrees(kept) : percent(kept, 1);
}

function Steps({ steps, timeZone }: { readonly steps: readonly BenchStep[]; readonly timeZone: string }) {
  const several = (steps.at(-1)?.entry ?? 1) > 1;
  return (
    <Scroll label="What is read, place by place">
      <table class="bench-steps">
        <Heads of={[several && number('Entry'), 'At', 'stands', 'which is']} />
        <tbody>
          {steps.map((step) => (
            <tr key={`${step.entry} ${step.means} ${step.at}`}>
              {several && <td class="n">{step.entry}</td>}
              <td>
                <code>{step.at}</code>
              </td>
              <td>
                <code>{step.found}</code>
              </td>
              <td>
                {step.fault ? (
                  <span class="urgent">
                    {means[step.means]}: {step.fault}
                  </span>
                ) : (
                  `${means[step.means]} ${keptWords(step, timeZone)}`
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}

function Readings({
  readings,
  total,
  timeZone,
}: Pick<BenchOutcome, 'readings' | 'total'> & { readonly timeZone: string }) {
  return (
    <Scroll label="Readings that come of it">
      <table>
        <caption class="quiet">
          {capital(count(total, 'reading'))} {total === 1 ? 'comes' : 'come'} of it
          {total > readings.length && `; the first ${readings.length}`}
        </caption>
        <Heads of={['Sensor', 'Time', number('Humidity'), number('Temperature'), number('Battery')]} />
        <tbody>
          {readings.map((one, i) => (
            <tr key={`${one.sensor} ${one.timeMs} ${i}`}>
              <td>
                <code class="urn">{one.sensor}</code>
              </td>
              <td>{moment(one.timeMs, timeZone)}</td>
              <td class="n">{one.humidityPct === null ? '–' : percent(one.humidityPct, 1)}</td>
              <td class="n">{one.temperatureC === null ? '–' : degrees(one.temperatureC)}</td>
              <td class="n">{one.batteryPct === null ? '–' : percent(one.batteryPct)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}

export function Outcome({
  outcome,
  timeZone,
}: {
  readonly outcome: BenchOutcome;
  readonly timeZone: string;
}) {
  const { steps, readings, total, refused, skipped } = outcome;
  return (
    <>
      {steps.length > 0 && <Steps steps={steps} timeZone={timeZone} />}
      {total > 0 ? (
        <Readings readings={readings} total={total} timeZone={timeZone} />
      ) : (
        <p>No reading comes of it.</p>
      )}
      {refused.map(({ reason, sentence }, i) => (
        <p key={`${reason} ${i}`} class="urgent">
          {sentence}
        </p>
      ))}
      {skipped > 0 && (
        <p class="quiet">
          {plain(skipped)} {skipped === 1 ? 'value is' : 'values are'} of quantities that are not kept here,
          or not named above.
        </p>
      )}
    </>
  );
}
