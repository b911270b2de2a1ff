/** What would humidity control change for a venue's hours? Each of its instruments is asked in turn. */
import type { Signal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { YearPlan } from '../../server/contract/index.ts';
import { useEntered } from '../form/entered.ts';
import { Entries } from '../form/entries.ts';
import { TextField } from '../form/field.tsx';
import { Segments } from '../form/segments.tsx';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { Cautions } from '../marks/cautions.tsx';
import { Heads, number } from '../marks/heads.tsx';
import { Said } from '../marks/said.tsx';
import { Scroll } from '../marks/scroll.tsx';
import { call } from '../service/call.ts';
import { Refusal } from '../service/fault.ts';
import { count, nbsp, plain } from '../words/numbers.ts';
import { type Asked, savingOf } from './saving.ts';
import { boardWords, savingWords, type VenueYear } from './year-words.ts';

/** A run that was made, or is being made. */
export interface Run {
  readonly venueId: string;
  /** "The rooms held between 40 and 50 %". */
  readonly held: string;
  readonly asked: readonly Asked[];
  readonly of: number;
}

interface WhatIfProps {
  readonly plan: YearPlan;
  readonly venue: VenueYear;
  readonly run: Signal<Run | null>;
}

export function VenueWhatIf({ plan, venue, run }: WhatIfProps) {
  const sending = useSending('Not worked out');
  const { text, field, choice } = useEntered(
    { where: 'room' as 'room' | 'inside', lowPct: '40', highPct: '50' },
    sending,
  );
  const abort = useRef<AbortController | null>(null);
  useEffect(() => () => abort.current?.abort(), []);
  const ask = async () => {
    const entries = new Entries();
    const hold = {
      where: text.where,
      lowPct: entries.needed('hold.lowPct', text.lowPct),
      highPct: entries.needed('hold.highPct', text.highPct),
    };
    if (hold.lowPct >= hold.highPct) entries.fault('hold.highPct', 'Must be above the lower end.');
    entries.check();
    const control = new AbortController();
    abort.current = control;
    const instruments = plan.instruments.filter(({ venueId }) => venueId === venue.venueId);
    const held =
      `${hold.where === 'room' ? 'The rooms' : 'The air inside the pianos'} held between ` +
      `${plain(hold.lowPct)} and ${plain(hold.highPct)}${nbsp}%`;
    const begun: Run = { venueId: venue.venueId, held, asked: [], of: instruments.length };
    run.value = begun;
    const asked: Asked[] = [];
    for (const instrument of instruments) {
      const body = { hold, roomId: null };
      try {
        asked.push({
          instrument,
          result: await call('whatIf', { params: { id: instrument.id }, body }, control.signal),
        });
      } catch (error) {
        if (control.signal.aborted) return;
        // One without a year of readings is left out and named; anything else ends the run.
        if (!(error instanceof Refusal && error.status === 409)) throw error;
        asked.push({ instrument, result: error.message.replace(/^id: /, '') });
      }
      run.value = { ...begun, asked: [...asked] };
    }
  };
  const shown = run.value?.venueId === venue.venueId ? run.value : null;
  return (
    <section class="venue-what-if" aria-labelledby="venue-what-if">
      <h2 id="venue-what-if">What steadier air at {venue.venueName} would save</h2>
      <SendForm sending={sending} class="off-paper" onSend={ask}>
        <Segments
          legend="Suppose humidity control holds"
          {...choice('where')}
          choices={[
            ['room', 'the rooms'],
            ['inside', 'the air inside the pianos'],
          ]}
        />
        <div class="fields">
          <TextField {...field('lowPct', 'hold.lowPct')} label="Not drier than" unit="%" numeric />
          <TextField {...field('highPct', 'hold.highPct')} label="Not damper than" unit="%" numeric />
        </div>
        <p role="alert" class="trouble">
          {sending.trouble}
        </p>
        <button type="submit" class="button quiet" disabled={sending.busy}>
          {sending.busy
            ? `Working it out: ${shown?.asked.length ?? 0} of ${shown?.of ?? 0} …`
            : `Work it out for ${count(venue.instruments, 'instrument')}`}
        </button>
      </SendForm>
      {shown && <Answer run={shown} done={!sending.busy} />}
    </section>
  );
}

function Answer({ run, done }: { readonly run: Run; readonly done: boolean }) {
  const saving = savingOf(run.asked);
  const left = run.asked.filter(({ result }) => typeof result === 'string');
  const caution = run.asked.flatMap(({ result }) => (typeof result === 'string' ? [] : [result.caution]))[0];
  return (
    <div class="venue-answer">
      <div role="status">
        {saving && (
          <p class="saving">
            <Said sentence={savingWords(saving, run.held)} />
          </p>
        )}
        {!done && <p class="quiet">So far; the others are still being asked.</p>}
      </div>
      {saving && <p>{boardWords(saving)}</p>}
      {left.length > 0 && (
        <p class="quiet">
          Left out:{' '}
          {left.map(({ instrument, result }) => `${instrument.name} (${String(result)})`).join('; ')}.
        </p>
      )}
      {saving && (
        <details>
          <summary>Instrument by instrument</summary>
          <Scroll label="Instrument by instrument">
            <table>
              <Heads
                of={[
                  'Instrument',
                  number('Tunings to stay within'),
                  number('Changed'),
                  number('Days out'),
                  number('Changed'),
                ]}
              />
              <tbody>
                {run.asked.map(({ instrument, result }) =>
                  typeof result === 'string' ? null : (
                    <tr key={instrument.id}>
                      <th scope="row">{instrument.name}</th>
                      <td class="n">{plain(result.pastYear.tunings.asItIs, 1)}</td>
                      <td class="n">{plain(result.pastYear.tunings.changed, 1)}</td>
                      <td class="n">{plain(result.pastYear.daysBeyond.asItIs)}</td>
                      <td class="n">{plain(result.pastYear.daysBeyond.changed)}</td>
                    </tr>
                  ),
                )}
              </tbody>
            </table>
          </Scroll>
        </details>
      )}
      {caution && <Cautions sentences={[caution]} />}
    </div>
  );
}
