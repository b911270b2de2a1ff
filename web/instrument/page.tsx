/** One instrument: what is true and what to do, its numbers, then how it came to that. */
import { useRoute } from 'preact-iso';
import type { InstrumentPage as Answer } from '../../server/contract/index.ts';
import { Chart } from '../chart/chart.tsx';
import { Cautions } from '../marks/cautions.tsx';
import { Said } from '../marks/said.tsx';
import { useLive } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { keptDraft } from '../visit/draft.ts';
import { recorded } from '../visit/recorded.ts';
import { InstrumentCalls } from './calls.tsx';
import { describe } from './describe.ts';
import './instrument.css';
import { Notices } from './notices.tsx';
import { Numbers } from './numbers.tsx';
import { farthestOut } from './pitch-words.ts';
import { RegisterProfile } from './register-profile.tsx';
import { Visits } from './visits.tsx';

export function InstrumentPage() {
  const { params } = useRoute();
  const { answer, error } = useLive('instrument', { params: { id: params.id ?? '' } });
  if (!answer.value) {
    return (
      <Page title="Instrument">
        <Waiting error={error.value} what="the instrument" />
      </Page>
    );
  }
  return <Shown key={answer.value.id} instrument={answer.value} error={error.value} />;
}

function Shown({ instrument: i, error }: { readonly instrument: Answer; readonly error: Error | null }) {
  const { advice } = i;
  const visited = recorded.value?.instrumentId === i.id ? recorded.value : null;
  const register = farthestOut(i.registers);
  return (
    <Page title={`${i.name}, ${i.roomName}`}>
      <p class="crumbs">
        {i.venueName} · {i.roomName}
      </p>
      <h1>{i.name}</h1>
      <p class="describe quiet">{describe(i)}</p>
      {visited && (
        <p class="recorded" role="status">
          The visit is recorded.{' '}
          {visited.sentenceBefore !== advice.sentence && <>Before it: “{visited.sentenceBefore}”</>}
        </p>
      )}
      <div class="opening">
        <div>
          <p class="advice">
            <Said sentence={advice.sentence} urgent={advice.urgent} />
          </p>
          <p class="to-do">
            <Said sentence={advice.toDo} />
          </p>
        </div>
        <nav class="acts" aria-label="What you can do here">
          <a class="button" href={`/instruments/${i.id}/visit`}>
            {keptDraft(i.id, null) ? 'Go on with the visit' : 'Record a visit'}
          </a>
          <a class="button quiet" href={`/settings/instruments/${i.id}`}>
            Edit its entry
          </a>
        </nav>
        <Cautions sentences={advice.cautions} />
      </div>
      <Stale error={error} />
      <Numbers instrument={i} register={register} />
      <Chart key={i.id} instrumentId={i.id} timeZone={i.timeZone} register={register} />
      <div class="below">
        <RegisterProfile instrument={i} />
        <InstrumentCalls calls={i.calls} timeZone={i.timeZone} shown={advice.cautions} />
        <Notices notices={i.notices} timeZone={i.timeZone} />
      </div>
      <Visits instrument={i} />
      {i.remarks.trim() !== '' && (
        <section class="remarks">
          <h2>To remember</h2>
          <p>{i.remarks}</p>
        </section>
      )}
    </Page>
  );
}
