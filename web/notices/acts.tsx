/** What a person can do about a notice without leaving the page: acknowledge this episode, leave it alone for a while, look back. */
import { useSignal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import type { Notice } from '../../server/contract/index.ts';
import { useEntered } from '../form/entered.ts';
import { Entries } from '../form/entries.ts';
import { TextField } from '../form/field.tsx';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { call } from '../service/call.ts';
import { refresh } from '../service/live.ts';
import { rememberedName, rememberName } from '../visit-sheet/remembered-name.ts';
import { dayMs } from '../words/times.ts';
import { fromInput, toInput } from '../words/zoned.ts';
import { History } from './history.tsx';

type Act = 'acknowledge' | 'snooze' | 'history';

interface ActsProps {
  readonly notice: Notice;
  readonly timeZone: string;
}

const actWords: Readonly<Record<Act, string>> = {
  acknowledge: 'Acknowledge',
  snooze: 'Snooze until …',
  history: 'What happened',
};

export function Acts({ notice, timeZone }: ActsProps) {
  const open = useSignal<Act | null>(null);
  const opener = useRef<HTMLButtonElement | null>(null);
  const over = notice.state === 'over';
  const acts: readonly Act[] = over
    ? ['history']
    : notice.acknowledged
      ? ['snooze', 'history']
      : ['acknowledge', 'snooze', 'history'];
  const close = () => {
    open.value = null;
    opener.current?.focus();
  };
  return (
    <div class="notice-acts">
      <p>
        {acts.map((act, i) => (
          <span key={act}>
            {i > 0 && ' · '}
            <button
              type="button"
              class="link"
              aria-expanded={open.value === act}
              onClick={(event) => {
                opener.current = event.currentTarget;
                open.value = open.value === act ? null : act;
              }}
            >
              {actWords[act]}
              <span class="unseen">: {notice.what}</span>
            </button>
          </span>
        ))}
      </p>
      {open.value === 'acknowledge' && <Acknowledge notice={notice} onDone={close} />}
      {open.value === 'snooze' && <Snooze notice={notice} timeZone={timeZone} onDone={close} />}
      {open.value === 'history' && <History noticeId={notice.id} timeZone={timeZone} />}
    </div>
  );
}

interface FormProps {
  readonly notice: Notice;
  readonly onDone: () => void;
}

function Acknowledge({ notice, onDone }: FormProps) {
  const sending = useSending('Not acknowledged');
  const { text, field } = useEntered({ by: rememberedName(), note: '' }, sending);
  const send = async () => {
    const body = { by: text.by.trim(), note: text.note.trim() };
    await call('acknowledgeNotice', { params: { id: notice.id }, body });
    rememberName(body.by);
    // Closed at once: whoever has opened something else by the time all is asked again keeps it open.
    onDone();
    await refresh();
  };
  return (
    <SendForm sending={sending} class="act-form" onSend={send}>
      <p class="quiet">It holds for this episode: should it end and begin anew, it asks anew.</p>
      <TextField {...field('by')} label="By" maxLength={120} />
      <TextField {...field('note')} label="Note" maxLength={400} />
      <Foot trouble={sending.trouble} busy={sending.busy} words="Acknowledge it" onLeave={onDone} />
    </SendForm>
  );
}

function Snooze({ notice, timeZone, onDone }: FormProps & { readonly timeZone: string }) {
  const sending = useSending('Not snoozed');
  const inAWeek = `${toInput(Date.now() + 7 * dayMs, timeZone).slice(0, 10)}T08:00`;
  const { text, field } = useEntered({ by: rememberedName(), untilMs: inAWeek }, sending);
  const send = async () => {
    const entries = new Entries();
    const untilMs = fromInput(text.untilMs, timeZone);
    if (untilMs === null) entries.fault('untilMs', 'A day and a time are needed here.');
    entries.check();
    const name = text.by.trim();
    await call('snoozeNotice', { params: { id: notice.id }, body: { untilMs: untilMs ?? 0, by: name } });
    rememberName(name);
    onDone();
    await refresh();
  };
  return (
    <SendForm sending={sending} class="act-form" onSend={send}>
      <p class="quiet">
        Until then it asks for no visit and nobody is told of it, also where it ends and begins anew; only
        should it grow worse it is told.
      </p>
      <TextField {...field('untilMs')} type="datetime-local" label="Until" />
      <TextField {...field('by')} label="By" maxLength={120} />
      <Foot trouble={sending.trouble} busy={sending.busy} words="Snooze it" onLeave={onDone} />
    </SendForm>
  );
}

interface FootProps {
  readonly trouble: string | null;
  readonly busy: boolean;
  readonly words: string;
  readonly onLeave: () => void;
}

function Foot({ trouble, busy, words, onLeave }: FootProps) {
  return (
    <>
      <p role="alert" class="trouble">
        {trouble}
      </p>
      <div class="submit-row">
        <button type="submit" class="button" disabled={busy}>
          {busy ? 'Saving …' : words}
        </button>
        <button type="button" class="button quiet" onClick={onLeave}>
          Leave it
        </button>
      </div>
    </>
  );
}
