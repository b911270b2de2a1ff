/** All instruments, most urgent first: each with its sentence and its year. */
import { useSignal } from '@preact/signals';
import type { InstrumentSummary } from '../../server/contract/index.ts';
import { Unsent } from '../device/unsent.tsx';
import { MoistureKey } from '../marks/moisture-key.tsx';
import { useLive } from '../service/live.ts';
import { FirstSteps } from '../settings/first-steps.tsx';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { type Asked, chosen, grouped, shownWords } from './choosing.ts';
import { Filters } from './filters.tsx';
import { fleetWords } from './fleet-words.ts';
import './instruments.css';
import { InstrumentRow } from './row.tsx';
import { YearAxis } from './year-axis.tsx';

export function InstrumentsPage() {
  const { answer, error } = useLive('instruments', {});
  const all = answer.value;
  if (!all) {
    return (
      <Page title="Instruments">
        <Waiting error={error.value} what="the instruments" />
      </Page>
    );
  }
  if (all.length === 0) {
    return (
      <Page title="First steps" narrow>
        <FirstSteps />
      </Page>
    );
  }
  return (
    <Page title="Instruments">
      <Fleet all={all} error={error.value} />
    </Page>
  );
}

function Fleet({ all, error }: { readonly all: readonly InstrumentSummary[]; readonly error: Error | null }) {
  const asked = useSignal<Asked>({ search: '', venueId: '', urgency: 0, order: 'urgency' });
  const words = fleetWords(all);
  const shown = chosen(all, asked.value);
  const groups = grouped(shown, asked.value.order);
  const endMs = all.reduce((latest, { strip }) => Math.max(latest, strip.endMs), 0);
  return (
    <>
      <h1>{words.heading}</h1>
      <p class="lead">{words.rest}</p>
      <Stale error={error} />
      <Unsent instruments={all} />
      <Filters all={all} asked={asked} />
      <p class="shown" role="status">
        {shownWords(shown.length, all.length)}
        <MoistureKey />
      </p>
      {shown.length === 0 ? (
        <p class="lead">Nothing here answers to that. Take away a word or a choice.</p>
      ) : (
        <>
          <YearAxis endMs={endMs} />
          {groups.map((group) => (
            <section key={group.key} class="instrument-group" aria-labelledby={`group-${group.key}`}>
              <h2 id={`group-${group.key}`}>
                {group.heading} <span class="quiet">{group.instruments.length}</span>
              </h2>
              <ul>
                {group.instruments.map((instrument) => (
                  <InstrumentRow
                    key={instrument.id}
                    instrument={instrument}
                    place={asked.value.order === 'place' ? 'room' : 'full'}
                  />
                ))}
              </ul>
            </section>
          ))}
        </>
      )}
    </>
  );
}
