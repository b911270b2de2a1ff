/** What if the air were held within a band, or the piano stood elsewhere? Asked in full, then worked out by the service. */
import { useSignal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import type { InstrumentPage, WhatIfBody, WhatIfPage } from '../../server/contract/index.ts';
import { useEntered } from '../form/entered.ts';
import { Entries } from '../form/entries.ts';
import { SelectField, TextField } from '../form/field.tsx';
import { Segments } from '../form/segments.tsx';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { call } from '../service/call.ts';
import { useLive } from '../service/live.ts';
import { nbsp, plain, typed } from '../words/numbers.ts';
import { BandScale } from './band.tsx';
import { type Band, scale } from './band-ends.ts';
import { WhatIfResult } from './what-if-result.tsx';

type Change = 'room' | 'inside' | 'move';

const changes: readonly (readonly [Change, string])[] = [
  ['room', 'hold the room'],
  ['inside', 'hold the air inside'],
  ['move', 'move it'],
];

interface Draft {
  readonly change: Change;
  /** As typed: what cannot be read is refused at its field, not mended in silence. */
  readonly lowPct: string;
  readonly highPct: string;
  readonly roomId: string;
}

/** The band the handles show: what was typed where it can be shown, else the last that could. */
function bandOf({ lowPct, highPct }: Draft, last: Band): Band {
  const [low, high] = [typed(lowPct), typed(highPct)];
  if (low === null || high === null || !(low >= scale.lowPct && high <= scale.highPct && low < high))
    return last;
  return { lowPct: low, highPct: high };
}

function bodyOf({ change, lowPct, highPct, roomId }: Draft): WhatIfBody {
  const entries = new Entries();
  if (change === 'move') {
    if (roomId === '') entries.fault('roomId', 'Choose a room.');
    entries.check();
    return { hold: null, roomId };
  }
  const hold = {
    where: change,
    lowPct: entries.needed('hold.lowPct', lowPct),
    highPct: entries.needed('hold.highPct', highPct),
  };
  entries.check();
  return { hold, roomId: null };
}

export function WhatIf({ instrument: i }: { readonly instrument: InstrumentPage }) {
  const rooms = useLive('rooms', {}, 300_000).answer.value ?? [];
  /** What the handles showed last: they stay where they were while a number is half typed. */
  const band = useRef<Band>({ lowPct: 40, highPct: 50 });
  const answered = useSignal<{ page: WhatIfPage; asked: string } | null>(null);
  const sending = useSending('Not worked out');
  const begin: Draft = { change: 'room', lowPct: '40', highPct: '50', roomId: '' };
  const { text: now, set, field, choice } = useEntered(begin, sending);
  band.current = bandOf(now, band.current);
  // A room whose air nobody measures has no year to be run through.
  const others = rooms.filter((room) => room.id !== i.roomId && room.now !== null);
  const there = others.find((room) => room.id === now.roomId);
  const asked =
    now.change === 'move'
      ? `In ${there?.name ?? 'another room'}, ${there?.venueName ?? ''}`
      : `${now.change === 'room' ? 'The room' : 'The air inside'} held between ${plain(typed(now.lowPct) ?? 0)} and ` +
        `${plain(typed(now.highPct) ?? 0)}${nbsp}%`;
  const ask = async () => {
    const page = await call('whatIf', { params: { id: i.id }, body: bodyOf(now) });
    answered.value = { page, asked };
  };
  const air = now.change === 'inside' ? (i.inside ?? i.room) : (i.room ?? i.inside);
  return (
    <section class="what-if" aria-labelledby="what-if">
      <h2 id="what-if">What if its air were another?</h2>
      <div class="what-if-sides">
        <SendForm sending={sending} onSend={ask}>
          <Segments legend="Suppose to" quiet {...choice('change')} choices={changes} />
          {now.change === 'move' ? (
            <SelectField
              {...field('roomId')}
              label="Into"
              choices={[
                ['', others.length === 0 ? 'no other room has a sensor' : 'choose a room'],
                ...others.map((room) => [room.id, `${room.venueName}, ${room.name}`] as const),
              ]}
            />
          ) : (
            <>
              <BandScale
                band={band.current}
                nowPct={air?.humidityPct ?? null}
                onBand={({ lowPct, highPct }) => set({ lowPct: String(lowPct), highPct: String(highPct) })}
              />
              <div class="fields">
                <TextField {...field('lowPct', 'hold.lowPct')} label="Not drier than" unit="%" numeric />
                <TextField {...field('highPct', 'hold.highPct')} label="Not damper than" unit="%" numeric />
              </div>
            </>
          )}
          <p role="alert" class="trouble">
            {sending.trouble?.replace(': id: ', ': ')}
          </p>
          <button type="submit" class="button" disabled={sending.busy}>
            {sending.busy ? 'Working it out …' : 'Work it out'}
          </button>
          <p class="quiet hint" role="status">
            {sending.busy &&
              'Two runs of a year and of the coming days, on two hundred paths: a few seconds.'}
          </p>
        </SendForm>
        {answered.value ? (
          <WhatIfResult page={answered.value.page} asked={answered.value.asked} />
        ) : (
          <p class="what-if-promise quiet">
            The past year and the coming days are run twice by one model, as they are and as they would be.
            You get what differs: days out of tolerance, tunings, days of strain on the board, and the water
            it takes, each with the range that holds 8 in 10.
          </p>
        )}
      </div>
    </section>
  );
}
