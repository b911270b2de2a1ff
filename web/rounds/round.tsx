/** One trip to one venue: when, how long, what to bring, whom it is for, in the order of its rooms. */
import { useSignal } from '@preact/signals';
import { useId, useRef } from 'preact/hooks';
import type { Call, InstrumentSummary, Person, Round } from '../../server/contract/index.ts';
import { Cautions } from '../marks/cautions.tsx';
import { nowMs } from '../service/now.ts';
import { capital, minutes } from '../words/numbers.ts';
import { clock, dayMs, longDay, weekday } from '../words/times.ts';
import { Decide } from './decide.tsx';
import { takeBack } from './deciding.ts';
import { Piano } from './piano.tsx';

interface RoundProps {
  readonly round: Round;
  readonly instruments: ReadonlyMap<string, InstrumentSummary>;
  readonly people: readonly Person[];
}

/** Calls of one place side by side, in the round's own order. */
function byPlace(calls: readonly Call[]): Call[][] {
  const places = new Map<string, Call[]>();
  for (const call of calls) places.set(call.place, [...(places.get(call.place) ?? []), call]);
  return [...places.values()];
}

export function OneRound({ round, instruments, people }: RoundProps) {
  const { calls, timeZone, dateMs, planned, latestMs } = round;
  const id = useId();
  const open = useSignal(false);
  const opener = useRef<HTMLButtonElement>(null);
  const goes = people.find((one) => one.id === round.personId);
  const day = weekday(dateMs, timeZone, nowMs.value);
  const cautions = [...new Set(calls.flatMap((call) => call.cautions))];
  const late = latestMs !== null && dateMs > latestMs;
  // Half a day of grace: the visit may still be written up in the evening.
  const missed = planned && dateMs < nowMs.value - dayMs / 2;
  return (
    <section class="round" aria-labelledby={id}>
      <header>
        <h2 id={id}>{round.venueName}</h2>
        <span class="quiet">{minutes(round.minutes)}</span>
        <button
          ref={opener}
          type="button"
          class={planned ? 'button quiet planned' : 'button quiet'}
          aria-expanded={open.value}
          onClick={() => {
            open.value = !open.value;
          }}
        >
          <span class="unseen">{planned ? 'Planned: change ' : 'Plan '}</span>
          {day}
        </button>
      </header>
      <p class="round-notes quiet">
        {planned && (
          <b>
            {capital(`planned, beginning at ${clock(dateMs, timeZone)}`)}
            {goes ? `, ${goes.name}` : ''}.{' '}
          </b>
        )}
        Bring: {round.bring.join(', ')}. The way there: {minutes(round.wayMinutes)}
        {round.wayAssumed && round.venueId && (
          <>
            , <a href={`/settings/venues/${round.venueId}`}>assumed</a>
          </>
        )}
        .
        {missed && (
          <>
            {' '}
            <span class="urgent">Its day has passed and no visit is recorded: move it, or take it back.</span>
          </>
        )}
        {late && (
          <>
            {' '}
            <span class="urgent">
              Late: one of its calls ends on {longDay(latestMs, timeZone, nowMs.value)}.
            </span>
          </>
        )}
        {planned && (
          <span class="round-acts">
            {' '}
            <button
              type="button"
              class="link"
              onClick={() => void takeBack(calls, 'The round is taken back.')}
            >
              Take it back
            </button>
          </span>
        )}
      </p>
      {open.value && (
        <Decide
          calls={calls}
          timeZone={timeZone}
          beginMs={dateMs}
          personId={round.personId}
          people={people}
          onDone={() => {
            open.value = false;
            opener.current?.focus();
          }}
        />
      )}
      <ul>
        {byPlace(calls).map((listed) => (
          <Piano
            key={listed[0]?.place}
            calls={listed}
            strip={instruments.get(listed[0]?.instrumentId ?? '')?.strip ?? null}
            beginMs={dateMs}
            people={people}
          />
        ))}
      </ul>
      {cautions.length > 0 && (
        <details class="before">
          <summary>Before you begin</summary>
          <Cautions sentences={cautions} />
        </details>
      )}
    </section>
  );
}
