/** One instrument of a round: how urgent, what it asks for and why, its year, its minutes. */
import { useSignal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import type { Call, InstrumentSummary, Person } from '../../server/contract/index.ts';
import { Said } from '../marks/said.tsx';
import { Tally } from '../marks/tally.tsx';
import { YearStrip } from '../marks/year-strip.tsx';
import { nowMs } from '../service/now.ts';
import { capital, minutes } from '../words/numbers.ts';
import { urgencyWord } from '../words/terms.ts';
import { clock, span, weekday } from '../words/times.ts';
import { Decide } from './decide.tsx';
import { takeBack } from './deciding.ts';
import { within } from './heading.ts';

interface PianoProps {
  /** All of one place. */
  readonly calls: readonly Call[];
  readonly strip: InstrumentSummary['strip'] | null;
  readonly beginMs: number;
  readonly people: readonly Person[];
}

export function Piano({ calls, strip, beginMs, people }: PianoProps) {
  const [first] = calls;
  if (!first) return null;
  const urgency = calls.map((call) => call.urgency).sort((a, b) => b - a)[0] ?? 0;
  return (
    <li class="round-row">
      <div class="round-words">
        <h3>
          <Tally value={urgency} words={urgencyWord(urgency)} />
          {first.instrumentId ? (
            <a href={`/instruments/${first.instrumentId}`}>{within(first)}</a>
          ) : (
            within(first)
          )}
        </h3>
        {calls.map((call) => (
          <One key={call.id} call={call} alone={calls.length === 1} beginMs={beginMs} people={people} />
        ))}
      </div>
      {strip ? <YearStrip strip={strip} timeZone={first.timeZone} /> : <span />}
      <p class="round-minutes quiet">{minutes(calls.reduce((sum, call) => sum + call.minutes, 0))}</p>
    </li>
  );
}

interface OneProps {
  readonly call: Call;
  readonly alone: boolean;
  readonly beginMs: number;
  readonly people: readonly Person[];
}

function One({ call, alone, beginMs, people }: OneProps) {
  const open = useSignal(false);
  const opener = useRef<HTMLButtonElement>(null);
  const { choice, timeZone } = call;
  const goes = people.find(({ id }) => id === choice?.personId);
  return (
    <div class="round-call">
      <p>
        <b>{capital(call.kind)}.</b> <Said sentence={call.why} urgent={call.urgency === 3} />
      </p>
      <p class="round-when">
        {choice?.plannedMs
          ? `Planned for ${weekday(choice.plannedMs, timeZone, nowMs.value)}, ${clock(choice.plannedMs, timeZone)}`
          : capital(span(call.earliestMs, call.latestMs, timeZone, nowMs.value))}
        {goes && `, ${goes.name}`}
        {!alone && ` · ${minutes(call.minutes)}`}
        <span class="round-acts">
          {' · '}
          <button
            ref={opener}
            type="button"
            class="link"
            aria-expanded={open.value}
            onClick={() => {
              open.value = !open.value;
            }}
          >
            {choice ? 'Change' : 'Decide'}
            <span class="unseen">
              {' '}
              on the {call.kind} of {within(call)}
            </span>
          </button>
          {choice && (
            <>
              {' · '}
              <button type="button" class="link" onClick={() => void takeBack([call], 'Taken back.')}>
                Take it back
              </button>
            </>
          )}
        </span>
      </p>
      {open.value && (
        <Decide
          calls={[call]}
          timeZone={timeZone}
          beginMs={choice?.plannedMs ?? beginMs}
          personId={choice?.personId ?? null}
          people={people}
          onDone={() => {
            open.value = false;
            opener.current?.focus();
          }}
        />
      )}
    </div>
  );
}
