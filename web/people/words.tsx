/** The words of care notes: one situation at a time, beside what a client would read. */
import { useSignal } from '@preact/signals';
import { type CareSituation, type CareWordsPage, carePlaceholders } from '../../server/contract/index.ts';
import { AreaField, TextField } from '../form/field.tsx';
import { partsOf } from '../form/parts.ts';
import { Segments } from '../form/segments.tsx';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { Submit } from '../form/submit.tsx';
import { call } from '../service/call.ts';
import { refresh, useLive } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import { Waiting } from '../shell/waiting.tsx';
import { filledWords, placeholderWords } from './filled.ts';
import './people.css';

export function CareWordsPageView() {
  const { answer, error } = useLive('careWords', {}, 300_000);
  const situation = useSignal<CareSituation>('hot dry winter');
  const page = answer.value;
  if (!page) {
    return (
      <Page title="Care notes">
        <Waiting error={error.value} what="the words" />
      </Page>
    );
  }
  const one = page.find((each) => each.situation === situation.value);
  return (
    <Page title="Care notes">
      <p class="crumbs">
        <a href="/people">People</a>
      </p>
      <h1>The words of care notes</h1>
      <p class="lead">
        They go to clients in your name, at most one a week for an instrument unless its board is at risk now.
        The cautions are added by the service and cannot be left out.
      </p>
      <Segments
        legend="For a"
        name="situation"
        value={situation.value}
        choices={page.map((each) => [each.situation, each.own ? `${each.situation} ·` : each.situation])}
        onChoose={(next) => {
          situation.value = next;
        }}
      />
      {one && <Editor key={one.situation} one={one} />}
    </Page>
  );
}

function Editor({ one }: { readonly one: CareWordsPage[number] }) {
  const sending = useSending();
  const words = useSignal(one.words);
  const saved = useSignal(false);
  const save = async (sent: typeof one.words) => {
    await call('putCareWords', { params: { situation: one.situation }, body: sent });
    words.value = sent;
    saved.value = true;
    await refresh();
  };
  const part = partsOf(words.value, (next) => {
    words.value = next;
    saved.value = false;
  });
  const shown = filledWords(words.value, one.situation);
  return (
    <div class="care-words">
      <SendForm sending={sending} onSend={() => save(words.value)}>
        <TextField {...part('subject')} label="Subject" maxLength={160} fault={sending.faultOf('subject')} />
        <AreaField
          {...part('words')}
          label="Words"
          maxLength={4000}
          rows={14}
          fault={sending.faultOf('words')}
        />
        <p class="hint">
          Filled in: {carePlaceholders.map((name) => `{${name}} ${placeholderWords[name]}`).join('; ')}.
        </p>
        <Submit sending={sending} words="Save the words">
          <p role="status">{saved.value && 'Saved.'}</p>
          {one.own && (
            <p>
              <button
                type="button"
                class="link"
                disabled={sending.busy}
                onClick={() => void sending.send(() => save(one.usual))}
              >
                Go back to the usual words
              </button>
            </p>
          )}
        </Submit>
      </SendForm>
      <section class="letter" aria-labelledby="letter">
        <h2 id="letter">{shown.subject}</h2>
        <p>{shown.words}</p>
        <p class="quiet">An invented client; what is filled in is an example.</p>
      </section>
    </div>
  );
}
