/** Accepts, moves, gives away or declines: the same few fields for one call and for a whole round. */
import type { Call, Person } from '../../server/contract/index.ts';
import { useEntered } from '../form/entered.ts';
import { Entries } from '../form/entries.ts';
import { SelectField, TextField } from '../form/field.tsx';
import { Segments } from '../form/segments.tsx';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { nowMs } from '../service/now.ts';
import { count } from '../words/numbers.ts';
import { weekday } from '../words/times.ts';
import { fromInput, toInput } from '../words/zoned.ts';
import { decide, oneAfterTheOther } from './deciding.ts';

interface DecideProps {
  /** In the order in which they will be done. */
  readonly calls: readonly Call[];
  readonly timeZone: string;
  /** What is proposed, or planned already. */
  readonly beginMs: number;
  readonly personId: string | null;
  readonly people: readonly Person[];
  readonly onDone: () => void;
}

const nobody = '';

export function Decide({ calls, timeZone, beginMs, personId, people, onDone }: DecideProps) {
  const sending = useSending('Not decided');
  const { text, field, choice } = useEntered(
    {
      choice: 'accepted' as 'accepted' | 'declined',
      plannedMs: toInput(beginMs, timeZone),
      personId: personId ?? nobody,
      reason: '',
    },
    sending,
  );
  const one = calls.length === 1;
  const what = one ? 'it' : `all ${count(calls.length, 'call')}`;
  const technicians = people.filter(({ role, id }) => role === 'technician' || id === personId);
  const accept = async () => {
    const entries = new Entries();
    const atMs = fromInput(text.plannedMs, timeZone);
    if (atMs === null) entries.fault('plannedMs', 'A day and a time are needed here.');
    entries.check();
    const times = oneAfterTheOther(calls, atMs ?? beginMs);
    const goes = technicians.find(({ id }) => id === text.personId);
    await decide(
      calls,
      (_, i) => ({
        choice: 'accepted',
        plannedMs: times[i] ?? beginMs,
        personId: goes?.id ?? null,
        reason: '',
      }),
      `Accepted for ${weekday(times[0] ?? beginMs, timeZone, nowMs.peek())}${goes ? `, ${goes.name}` : ''}.`,
    );
    onDone();
  };
  const decline = async () => {
    const entries = new Entries();
    if (text.reason.trim() === '') entries.fault('reason', 'Say why, so that it is known later.');
    entries.check();
    const why = text.reason.trim();
    await decide(
      calls,
      () => ({ choice: 'declined', plannedMs: null, personId: null, reason: why }),
      `Declined: ${why}.`.replace(/\.\.$/, '.'),
    );
    onDone();
  };
  const accepting = text.choice === 'accepted';
  return (
    <SendForm sending={sending} class="decide" onSend={accepting ? accept : decline}>
      <Segments
        legend="What to do"
        quiet
        {...choice('choice')}
        choices={[
          ['accepted', `go for ${what}`],
          ['declined', `decline ${what}`],
        ]}
      />
      {accepting ? (
        <div class="fields">
          <TextField {...field('plannedMs')} type="datetime-local" label={one ? 'When' : 'Beginning'} />
          {technicians.length > 0 && (
            <SelectField
              {...field('personId')}
              label="Who goes"
              choices={[
                [nobody, 'nobody in particular'],
                ...technicians.map(({ id, name }) => [id, name] as const),
              ]}
            />
          )}
        </div>
      ) : (
        <TextField {...field('reason')} label="Why" maxLength={400} />
      )}
      <p role="alert" class="trouble">
        {sending.trouble}
      </p>
      <div class="submit-row">
        <button type="submit" class="button" disabled={sending.busy}>
          {sending.busy ? 'Saving …' : accepting ? 'Accept' : 'Decline'}
        </button>
        <button type="button" class="button quiet" onClick={onDone}>
          Leave it
        </button>
      </div>
    </SendForm>
  );
}
