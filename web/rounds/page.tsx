/** The technician's week: which trips are warranted, when, how long, and what is better left. */
import { Unsent } from '../device/unsent.tsx';
import { MoistureKey } from '../marks/moisture-key.tsx';
import { useLive } from '../service/live.ts';
import { nowMs } from '../service/now.ts';
import { FirstSteps } from '../settings/first-steps.tsx';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { BetterToWait, ForTheVenues } from './beside.tsx';
import { decided, undo } from './deciding.ts';
import { heading, lead } from './heading.ts';
import { Declined, Done } from './past.tsx';
import { OneRound } from './round.tsx';
import './rounds.css';

export function RoundsPage() {
  const { answer, error } = useLive('rounds', {});
  const instruments = useLive('instruments', {}, 60_000).answer.value ?? [];
  const people = useLive('people', {}, 60_000).answer.value ?? [];
  const { sensors } = useLive('sensors', {}, 60_000).answer.value ?? {};
  const page = answer.value;
  if (!page) {
    return (
      <Page title="Rounds">
        <Waiting error={error.value} what="the rounds" />
      </Page>
    );
  }
  // Nothing can be asked for yet: nothing is there, or nothing measures it.
  const unmeasured = sensors?.every(({ placement }) => placement === null) ?? false;
  const asksNothing = page.rounds.length + page.waiting.length + page.declined.length === 0;
  if (page.instruments === 0 || (unmeasured && asksNothing)) {
    return (
      <Page title="First steps" narrow>
        <FirstSteps />
      </Page>
    );
  }
  const byId = new Map(instruments.map((one) => [one.id, one]));
  return (
    <Page title="Rounds">
      <div class="rounds">
        <div class="rounds-opening">
          <h1>{heading(page.rounds, nowMs.value)}</h1>
          <p class="lead">{lead(page)}</p>
          <Stale error={error.value} />
          <Unsent instruments={instruments} />
        </div>
        <div class="rounds-main">
          {page.rounds.map((round) => (
            <OneRound key={round.calls[0]?.id} round={round} instruments={byId} people={people} />
          ))}
          {page.rounds.length > 0 && (
            <p class="rounds-foot quiet">
              <MoistureKey /> Days are proposed for one person who begins at nine; what you plan stays, and
              the rest moves round it.
            </p>
          )}
          <Declined calls={page.declined} />
          <Done done={page.done} instruments={byId} />
        </div>
        <aside class="rounds-beside">
          <BetterToWait calls={page.waiting} />
          <ForTheVenues />
          <section>
            <h2>Farther ahead</h2>
            <p>
              <a href="/rounds/year">The hours of the coming year</a>
            </p>
            <p>
              <a href="/notices">Everything the watch has found</a>
            </p>
          </section>
        </aside>
      </div>
      <LastDecided />
    </Page>
  );
}

function LastDecided() {
  const last = decided.value;
  return (
    <div class={last ? 'decided' : 'decided unseen'}>
      <p role="status">{last?.sentence}</p>
      {last?.before && (
        <button type="button" class="link" onClick={() => void undo()}>
          Undo
        </button>
      )}
      {last && (
        <button
          type="button"
          class="link"
          onClick={() => {
            decided.value = null;
          }}
        >
          Close
        </button>
      )}
    </div>
  );
}
