/** What clients answered on their care pages: also where no mail goes out, it is read here. */
import type { CareAnswer } from '../../server/contract/index.ts';
import { useLive } from '../service/live.ts';
import { longDay, nearDay } from '../words/times.ts';

function said({ answer, dateMs, timeZone }: CareAnswer): string {
  if (answer === 'done') return 'it is seen to';
  if (answer === 'call me') return 'please call';
  return dateMs === null ? 'a day was chosen' : `come on ${longDay(dateMs, timeZone)}`;
}

export function Answers() {
  const answers = useLive('careAnswers', {}, 60_000).answer.value ?? [];
  if (answers.length === 0) return null;
  return (
    <section class="ticked" aria-labelledby="answers">
      <h2 id="answers">Answered by clients</h2>
      <ul>
        {answers.map((one) => (
          <li key={one.id} class="ticked-task">
            <p>
              <b>
                {one.client}: {said(one)}.
              </b>{' '}
              <a href={`/instruments/${one.instrumentId}`}>{one.place}</a>,{' '}
              <span class="quiet">{nearDay(one.answeredMs, one.timeZone)}</span>
            </p>
          </li>
        ))}
      </ul>
    </section>
  );
}
