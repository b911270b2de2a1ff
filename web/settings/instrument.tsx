/** Enter or change an instrument. */
import { useSignal } from '@preact/signals';
import { useLocation, useRoute } from 'preact-iso';
import {
  boardSpecies,
  finishes,
  type Instrument,
  type InstrumentBody,
  type InstrumentSummary,
  type RoomNow,
  uses,
} from '../../server/contract/index.ts';
import { useEntered } from '../form/entered.ts';
import { Entries } from '../form/entries.ts';
import { AreaField, SelectField, TextField } from '../form/field.tsx';
import { newId } from '../form/new-id.ts';
import { Segments } from '../form/segments.tsx';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { Submit } from '../form/submit.tsx';
import { call } from '../service/call.ts';
import { refresh, useLive } from '../service/live.ts';
import { MissingPage } from '../shell/missing.tsx';
import { Page } from '../shell/page.tsx';
import { Waiting } from '../shell/waiting.tsx';
import { finishNames, speciesNames, useNames } from '../words/terms.ts';
import { HumidityControls } from './humidity-controls.tsx';
import './settings.css';

export function InstrumentForm() {
  const { params, query } = useRoute();
  const rooms = useLive('rooms', {});
  const instruments = useLive('instruments', {}).answer.value;
  const listed = rooms.answer.value;
  if (!listed || !instruments) {
    return (
      <Page title="Instrument" narrow>
        <Waiting error={rooms.error.value} what="the instrument" />
      </Page>
    );
  }
  if (params.id === 'new') {
    return <Form key="new" instrument={null} rooms={listed} roomId={query.room ?? listed[0]?.id ?? ''} />;
  }
  const instrument = instruments.find(({ id }) => id === params.id);
  if (!instrument) return <MissingPage />;
  return <Form key={instrument.id} instrument={instrument} rooms={listed} roomId={instrument.roomId} />;
}

interface FormProps {
  readonly instrument: InstrumentSummary | null;
  readonly rooms: readonly RoomNow[];
  readonly roomId: string;
}

function entriesOf(instrument: Instrument | null, roomId: string) {
  const text = (value: number | null | undefined) =>
    value === null || value === undefined ? '' : String(value);
  return {
    roomId,
    name: instrument?.name ?? '',
    kind: instrument?.kind ?? ('grand' as InstrumentBody['kind']),
    use: instrument?.use ?? ('studio' as InstrumentBody['use']),
    sizeCm: text(instrument?.sizeCm),
    year: text(instrument?.year),
    serial: instrument?.serial ?? '',
    pitchStandardHz: text(instrument?.pitchStandardHz ?? 440),
    species: instrument?.board.species ?? ('spruce-sitka' as InstrumentBody['board']['species']),
    finish: instrument?.board.finish ?? ('varnish' as InstrumentBody['board']['finish']),
    construction: instrument?.board.construction ?? ('solid' as InstrumentBody['board']['construction']),
    thicknessMm: text(instrument?.board.thicknessMm ?? 8),
    ribbedAtMoisturePct: text(instrument?.board.ribbedAtMoisturePct),
    remarks: instrument?.remarks ?? '',
  };
}

function bodyOf(text: ReturnType<typeof entriesOf>): InstrumentBody {
  const entries = new Entries();
  const body: InstrumentBody = {
    roomId: text.roomId,
    name: text.name,
    kind: text.kind,
    sizeCm: entries.optional('sizeCm', text.sizeCm),
    year: entries.optional('year', text.year),
    serial: text.serial.trim() === '' ? null : text.serial.trim(),
    pitchStandardHz: entries.needed('pitchStandardHz', text.pitchStandardHz),
    use: text.use,
    board: {
      species: text.species,
      thicknessMm: entries.needed('board.thicknessMm', text.thicknessMm),
      finish: text.finish,
      construction: text.construction,
      ribbedAtMoisturePct: entries.optional('board.ribbedAtMoisturePct', text.ribbedAtMoisturePct),
    },
    remarks: text.remarks,
  };
  entries.check();
  return body;
}

function Form({ instrument, rooms, roomId }: FormProps) {
  const { route } = useLocation();
  const sending = useSending();
  const id = useSignal(instrument?.id ?? newId());
  const { text, field, choice } = useEntered(entriesOf(instrument, roomId), sending);
  const save = async () => {
    const saved = await call('putInstrument', { params: { id: id.value }, body: bodyOf(text) });
    await refresh();
    route(`/instruments/${saved.id}`);
  };
  const grand = text.kind === 'grand';
  return (
    <Page title={instrument ? instrument.name : 'New instrument'} narrow>
      <h1>{instrument ? instrument.name : 'An instrument'}</h1>
      <p class="lead">
        Its soundboard decides how fast it follows the air, its use how exact it has to be. What you do not
        know can stay as it stands.
      </p>
      <SendForm sending={sending} onSend={save}>
        <TextField
          {...field('name')}
          label="Name"
          required
          maxLength={120}
          hint="As you would call it on the telephone: Grand 208 cm, the old upright."
        />
        <SelectField
          {...field('roomId')}
          label="Room"
          choices={rooms.map((room) => [room.id, `${room.venueName} · ${room.name}`])}
        />
        <Segments
          {...choice('kind')}
          legend="Kind"
          choices={[
            ['grand', 'Grand'],
            ['upright', 'Upright'],
          ]}
        />
        <SelectField
          {...field('use')}
          label="Used for"
          hint="Sets how far pitch and unisons may go before a tuning is asked for."
          choices={uses.map((use) => [use, useNames[use]])}
        />
        <div class="fields">
          <TextField {...field('sizeCm')} label={grand ? 'Length' : 'Height'} unit="cm" numeric />
          <TextField {...field('year')} label="Year built" numeric />
          <TextField {...field('pitchStandardHz')} label="A4 is tuned to" unit="Hz" numeric />
        </div>
        <TextField {...field('serial')} label="Serial number" maxLength={60} />
        <fieldset>
          <legend>Soundboard</legend>
          <Segments
            {...choice('construction', 'board.construction')}
            legend="Made"
            choices={[
              ['solid', 'of solid wood'],
              ['laminated', 'laminated'],
            ]}
          />
          <SelectField
            {...field('finish', 'board.finish')}
            label="Finish"
            hint="The thicker the film, the slower the board follows the air."
            choices={finishes.map((finish) => [finish, finishNames[finish]])}
          />
          <SelectField
            {...field('species', 'board.species')}
            label="Wood"
            choices={boardSpecies.map((species) => [species, speciesNames[species]])}
          />
          <div class="fields">
            <TextField
              {...field('thicknessMm', 'board.thicknessMm')}
              label="Thickness"
              unit="mm"
              numeric
              hint="8 is usual"
            />
            <TextField
              {...field('ribbedAtMoisturePct', 'board.ribbedAtMoisturePct')}
              label="Moisture when ribbed"
              unit="%"
              numeric
              hint="if it is known"
            />
          </div>
        </fieldset>
        <AreaField
          {...field('remarks')}
          label="To remember"
          hint="Whose it is, where the key hangs."
          maxLength={2000}
        />
        <Submit
          sending={sending}
          words="Save the instrument"
          back={instrument ? `/instruments/${instrument.id}` : '/settings'}
        />
      </SendForm>
      {instrument && <HumidityControls instrumentId={instrument.id} timeZone={instrument.timeZone} />}
      {instrument && (
        <p class="to-watch">
          <a href={`/settings/watch/instrument/${instrument.id}`}>What the watch goes by here</a>
        </p>
      )}
    </Page>
  );
}
