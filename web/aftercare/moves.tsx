/** A move is a dated event: from then on the air is another room's. Retiring takes the instrument off the lists. */
import { useSignal } from '@preact/signals';
import type { InstrumentPage } from '../../server/contract/index.ts';
import { SelectField, TextField } from '../form/field.tsx';
import { newId } from '../form/new-id.ts';
import { heldIn } from '../form/parts.ts';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { Cautions } from '../marks/cautions.tsx';
import { call } from '../service/call.ts';
import { Refusal } from '../service/fault.ts';
import { refresh, useLive } from '../service/live.ts';
import { longDay } from '../words/times.ts';
import { fromInput, toInput } from '../words/zoned.ts';

const retire = 'retire';

export function Moves({ instrument: i }: { readonly instrument: InstrumentPage }) {
  const rooms = useLive('rooms', {}, 300_000);
  const moved = useLive('moves', { query: { instrument: i.id } }, 300_000);
  const sending = useSending();
  const where = useSignal('');
  const when = useSignal(toInput(Date.now(), i.timeZone));
  const why = useSignal('');
  const id = useSignal(newId());
  const others = (rooms.answer.value ?? []).filter((room) => room.id !== i.roomId);
  const nameOf = (roomId: string | null) => {
    if (roomId === null) return 'Retired';
    const room = rooms.answer.value?.find((one) => one.id === roomId);
    return room ? `To ${room.venueName} · ${room.name}` : 'Moved';
  };
  const send = async () => {
    const atMs = fromInput(when.value, i.timeZone);
    if (atMs === null || where.value === '') {
      const field = where.value === '' ? 'roomId' : 'atMs';
      const sentence = field === 'roomId' ? 'Choose where it went.' : 'A day and a time are needed here.';
      throw new Refusal({
        type: 'about:blank',
        title: '',
        status: 422,
        detail: sentence,
        faults: [{ field, sentence }],
      });
    }
    await call('putMove', {
      params: { id: id.value },
      body: {
        instrumentId: i.id,
        atMs,
        roomId: where.value === retire ? null : where.value,
        words: why.value,
      },
    });
    id.value = newId();
    where.value = '';
    why.value = '';
    await refresh();
  };
  return (
    <details class="moves">
      <summary>
        <h2>Move or retire it</h2>
      </summary>
      <Cautions
        sentences={[
          'A piano weighs 200 to 500 kg and tips: moving is for piano movers. Expect its pitch to shift, and tune three to four weeks later.',
        ]}
      />
      <SendForm sending={sending} onSend={send}>
        <div class="fields">
          <SelectField
            name="roomId"
            label="Where to"
            {...heldIn(where)}
            fault={sending.faultOf('roomId')}
            choices={[
              ['', 'choose'],
              ...others.map((room) => [room.id, `${room.venueName} · ${room.name}`] as const),
              [retire, 'out of the fleet: retired'],
            ]}
          />
          <TextField
            name="atMs"
            type="datetime-local"
            label="When"
            {...heldIn(when)}
            fault={sending.faultOf('atMs')}
          />
          <TextField
            name="words"
            label="Why"
            maxLength={400}
            {...heldIn(why)}
            fault={sending.faultOf('words')}
          />
        </div>
        <p class="trouble" role="alert">
          {sending.trouble}
        </p>
        <button type="submit" class="button quiet" disabled={sending.busy}>
          Note the move
        </button>
      </SendForm>
      {(moved.answer.value ?? []).length > 0 && (
        <ul>
          {(moved.answer.value ?? []).toReversed().map((move) => (
            <li key={move.id}>
              {nameOf(move.roomId)}, {longDay(move.atMs, i.timeZone)}
              {move.words === '' ? '' : `: ${move.words}`}
            </li>
          ))}
        </ul>
      )}
    </details>
  );
}
