/** A complaint by telephone: ten seconds of typing, and the page answers at once. */
import { useSignal } from '@preact/signals';
import type { InstrumentPage, Remark } from '../../server/contract/index.ts';
import { TextField } from '../form/field.tsx';
import { newId } from '../form/new-id.ts';
import { heldIn } from '../form/parts.ts';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { call } from '../service/call.ts';
import { refresh } from '../service/live.ts';
import { longDay } from '../words/times.ts';

interface Props {
  readonly instrument: InstrumentPage;
  readonly remarks: readonly Remark[];
}

export function Reported({ instrument: i, remarks }: Props) {
  const sending = useSending();
  const words = useSignal('');
  const from = useSignal('');
  const id = useSignal(newId());
  const reply = useSignal<string | null>(null);
  const send = async () => {
    const { reply: said } = await call('putRemark', {
      params: { id: id.value },
      body: { instrumentId: i.id, atMs: Date.now(), from: from.value.trim(), words: words.value },
    });
    reply.value = said;
    words.value = '';
    id.value = newId();
    await refresh();
  };
  const open = remarks.filter(({ answer }) => answer === null);
  const answered = remarks.filter(({ answer }) => answer !== null);
  return (
    <section aria-labelledby="reported">
      <h2 id="reported">Reported</h2>
      <SendForm sending={sending} class="report-form" onSend={send}>
        <TextField
          name="words"
          label="What was reported"
          maxLength={4000}
          required
          {...heldIn(words)}
          fault={sending.faultOf('words')}
        />
        <TextField
          name="from"
          label="By whom"
          maxLength={120}
          {...heldIn(from)}
          fault={sending.faultOf('from')}
        />
        <button type="submit" class="button quiet" disabled={sending.busy}>
          Note it
        </button>
      </SendForm>
      <p class="trouble" role="alert">
        {sending.trouble}
      </p>
      <p class="reply" role="status">
        {reply.value}
      </p>
      {open.length + answered.length > 0 && (
        <ul>
          {[...open, ...answered.slice(0, 5)].map((remark) => (
            <li key={remark.id}>
              {longDay(remark.atMs, i.timeZone)}
              {remark.from === '' ? '' : `, ${remark.from}`}: “{remark.words}”{' '}
              <span class="quiet">
                {remark.answer
                  ? `Answered ${longDay(remark.answer.atMs, i.timeZone)}: ${remark.answer.words}`
                  : 'Opens on the next visit sheet.'}
              </span>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
