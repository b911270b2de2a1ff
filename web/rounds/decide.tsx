/** Accepts, moves, gives away or declines: the same few fields for one call and for a whole round. */
import { useSignal } from '@preact/signals';
import type { Call, Person } from '../../server/contract/index.ts';
import { Entries } from '../form/entries.ts';
import { SelectField, TextField } from '../form/field.tsx';
import { Segments } from '../form/segments.tsx';
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
  const choice = useSignal<'accepted' | 'declined'>('accepted');
  const begin = useSignal(toInput(beginMs, timeZone));
  const person = useSignal(personId ?? nobody);
  const reason = useSignal('');
  const one = calls.length === 1;
  const what = one ? 'it' : `all ${count(calls.length, 'call')}`;
  const technicians = people.filter(({ role, id }) => role === 'technician' || id === personId);
  const accept = async () => {
    const entries = new Entries();
    const atMs = fromInput(begin.value, timeZone);
    if (atMs === null) entries.fault('plannedMs', 'A day and a time are needed here.');
    entries.check();
    const times = oneAfterTheOther(calls, atMs ?? beginMs);
    const goes = technicians.find(({ id }) => id === person.value);
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
    if (reason.value.trim() === '') entries.fault('reason', 'Say why, so that it is known later.');
    entries.check();
    const why = reason.value.trim();
    await decide(
      calls,
      () => ({ choice: 'declined', plannedMs: null, personId: null, reason: why }),
      `Declined: ${why}.`.replace(/\.\.$/, '.'),
    );
    onDone();
  };
  const accepting = choice.value === 'accepted';
  return (
    <form
      ref={sending.form}
      class="decide"
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        void sending.send(accepting ? accept : decline);
      }}
    >
      <Segments
        legend="What to do"
        quiet
        name="choice"
        value={choice.value}
        choices={[
          ['accepted', `go for ${what}`],
          ['declined', `decline ${what}`],
        ]}
        onChoose={(next) => {
          choice.value = next;
        }}
      />
      {accepting ? (
        <div class="fields">
          <TextField
            name="plannedMs"
            type="datetime-local"
            label={one ? 'When' : 'Beginning'}
            value={begin.value}
            fault={sending.faultOf('plannedMs')}
            onValue={(value) => {
              begin.value = value;
            }}
          />
          {technicians.length > 0 && (
            <SelectField
              name="personId"
              label="Who goes"
              value={person.value}
              choices={[
                [nobody, 'nobody in particular'],
                ...technicians.map(({ id, name }) => [id, name] as const),
              ]}
              fault={sending.faultOf('personId')}
              onValue={(value) => {
                person.value = value;
              }}
            />
          )}
        </div>
      ) : (
        <TextField
          name="reason"
          label="Why"
          maxLength={400}
          value={reason.value}
          fault={sending.faultOf('reason')}
          onValue={(value) => {
            reason.value = value;
          }}
        />
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
    </form>
  );
}
