/** One instrument: what is true and what to do, its numbers, then how it came to that. */
import { useSignal } from '@preact/signals';
import { useRoute } from 'preact-iso';
import { type InstrumentPage as Answer, type Register, registers } from '../../server/contract/index.ts';
import { Aftercare } from '../aftercare/aftercare.tsx';
import { Chart } from '../chart/chart.tsx';
import { addressOf, drafts } from '../device/drafts.ts';
import { Ahead } from '../drift/ahead.tsx';
import { useDrift } from '../drift/asked.ts';
import { BestDates } from '../drift/best-dates.tsx';
import '../drift/drift.css';
import { LookBack } from '../drift/look-back.tsx';
import { Scatter } from '../drift/scatter.tsx';
import { Sensitivity } from '../drift/sensitivity.tsx';
import { spreadToday } from '../drift/today.ts';
import { WhatIf } from '../drift/what-if.tsx';
import { WhyMoved } from '../drift/why-moved.tsx';
import { Segments } from '../form/segments.tsx';
import { Cautions } from '../marks/cautions.tsx';
import { Said } from '../marks/said.tsx';
import { Notices } from '../notices/of-instrument.tsx';
import { useLive } from '../service/live.ts';
import { nowMs } from '../service/now.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { recorded } from '../visit-sheet/recorded.ts';
import { registerNames } from '../words/terms.ts';
import { InstrumentCalls } from './calls.tsx';
import { describe } from './describe.ts';
import './instrument.css';

import { Numbers } from './numbers.tsx';
import { farthestOff } from './pitch-words.ts';
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
  const begun = drafts.value.find((draft) => draft.instrumentId === i.id && !draft.corrects);
  const visited = recorded.value?.instrumentId === i.id ? recorded.value : null;
  const farthest = farthestOff(i.registers);
  /** The register the chart and all that stands below it tell of. */
  const register = useSignal<Register>(farthest);
  const tunings = useSignal(Math.min(6, Math.max(1, i.strip.visitsMs.length)));
  const drift = useDrift(i.id, tunings.value);
  const spread = spreadToday(drift.forecast, nowMs.value);
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
          <Ahead forecast={drift.forecast} best={drift.best} timeZone={i.timeZone} />
        </div>
        <nav class="acts" aria-label="What you can do here">
          <a class="button" href={begun ? addressOf(begun) : `/instruments/${i.id}/visit`}>
            {begun ? 'Go on with the visit' : 'Record a tuning'}
          </a>
          <a class="button quiet" href={`/instruments/${i.id}/sheet`}>
            Inspect: visit sheet
          </a>
          <a class="button quiet" href={`/settings/instruments/${i.id}`}>
            Edit its entry
          </a>
        </nav>
        <Cautions sentences={advice.cautions} />
      </div>
      <Stale error={error ?? drift.error} />
      <Numbers instrument={i} register={farthest} spread={spread} />
      <Chart
        instrumentId={i.id}
        timeZone={i.timeZone}
        register={register}
        forecast={drift.forecast}
        best={drift.best}
      />
      <div class="below">
        <RegisterProfile instrument={i} spread={spread} />
        <div class="beside-panels">
          <InstrumentCalls calls={i.calls} timeZone={i.timeZone} shown={advice.cautions} />
          <Notices notices={i.notices} timeZone={i.timeZone} />
        </div>
        <WhyMoved learned={drift.learned} register={register.value} timeZone={i.timeZone} />
        <Sensitivity learned={drift.learned} register={register.value} />
        <BestDates best={drift.best} forecast={drift.forecast} tunings={tunings} timeZone={i.timeZone} />
      </div>
      <WhatIf instrument={i} />
      <section class="learned-from" aria-labelledby="learned-from">
        <h2 id="learned-from">What was learned, and how it fared</h2>
        <Segments
          legend="Register"
          quiet
          name="register-below"
          value={register.value}
          choices={registers.map((name) => [name, registerNames[name]])}
          onChoose={(name) => {
            register.value = name;
          }}
        />
        <Scatter learned={drift.learned} register={register.value} timeZone={i.timeZone} />
        <LookBack page={drift.lookBack} register={register.value} timeZone={i.timeZone} />
      </section>
      <Visits instrument={i} />
      <Aftercare instrument={i} />
      {i.remarks.trim() !== '' && (
        <section class="remarks">
          <h2>To remember</h2>
          <p>{i.remarks}</p>
        </section>
      )}
    </Page>
  );
}
