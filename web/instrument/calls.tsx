/** The visits this instrument asks for. */
import type { Call } from '../../server/contract/index.ts';
import { Cautions } from '../marks/cautions.tsx';
import { Said } from '../marks/said.tsx';
import { Tally } from '../marks/tally.tsx';
import { nowMs } from '../service/now.ts';
import { capital, minutes } from '../words/numbers.ts';
import { urgencyWord } from '../words/terms.ts';
import { span } from '../words/times.ts';

interface CallsProps {
  readonly calls: readonly Call[];
  readonly timeZone: string;
  /** Cautions that already stand further up the page. */
  readonly shown: readonly string[];
}

export function InstrumentCalls({ calls, timeZone, shown }: CallsProps) {
  return (
    <section class="calls" aria-labelledby="calls">
      <h2 id="calls">Visits it asks for</h2>
      {calls.length === 0 ? (
        <p class="quiet">None.</p>
      ) : (
        <ul>
          {calls.map((call) => (
            <li key={call.id}>
              <h3>
                <Tally value={call.urgency} words={urgencyWord(call.urgency)} />
                {capital(call.kind)}
              </h3>
              <p class="when">
                {capital(span(call.earliestMs, call.latestMs, timeZone, nowMs.value))} ·{' '}
                {minutes(call.minutes)}
              </p>
              <p>
                <Said sentence={call.why} />
              </p>
              <Cautions sentences={call.cautions.filter((caution) => !shown.includes(caution))} />
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
