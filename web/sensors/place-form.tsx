/** Says where a sensor stands and since when. Moving it and mending a wrong entry are two different things. */
import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { useLocation } from 'preact-iso';
import type { PlacementBody, Sensor } from '../../server/contract/index.ts';
import { Entries } from '../form/entries.ts';
import { CheckField, SelectField, TextField } from '../form/field.tsx';
import { newId } from '../form/new-id.ts';
import { Segments } from '../form/segments.tsx';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { Submit } from '../form/submit.tsx';
import { call } from '../service/call.ts';
import { refresh } from '../service/live.ts';
import { fromInput, toInput } from '../words/zoned.ts';
import { type Fleet, zoneOf } from './fleet.ts';

interface PlaceFormProps {
  readonly sensor: Sensor;
  readonly fleet: Fleet;
  /** Those without a place, any of which may take this one's. */
  readonly successors: readonly Sensor[];
}

type Purpose = 'moved' | 'replaced' | 'mended' | 'taken away';

/** Side by side for a day, old and new tell how much they differ. */
const besideMs = 24 * 3_600_000;

const submitWords: Readonly<Record<Purpose, string>> = {
  moved: 'Save its place',
  mended: 'Save its place',
  replaced: 'Replace it',
  'taken away': 'Take it off',
};

export function PlaceForm({ sensor, fleet, successors }: PlaceFormProps) {
  const { route } = useLocation();
  const sending = useSending();
  const { placement } = sensor;
  const firstInstrument = fleet.instruments.find(({ id }) => id === placement?.instrumentId);
  const firstRoom = fleet.rooms.find(({ id }) => id === placement?.roomId);
  const newPlacement = useSignal(newId());
  const entered = useSignal({
    purpose: 'moved' as Purpose,
    venueId:
      placement?.venueId ?? firstRoom?.venueId ?? firstInstrument?.venueId ?? fleet.venues[0]?.id ?? '',
    spot: placement?.spot ?? ('room' as PlacementBody['spot']),
    roomId: placement?.roomId ?? '',
    instrumentId: placement?.instrumentId ?? '',
    // A newcomer has mostly hung where it hangs since it was first heard; a sensor that is moved, since now.
    successorId: successors[0]?.id ?? '',
    overlap: true,
    since: toInput(placement ? Date.now() : sensor.firstSeenMs, zoneOf(sensor, fleet)),
  });
  const set = (change: Partial<typeof entered.value>) => {
    entered.value = { ...entered.value, ...change };
  };
  useEffect(() => {
    sending.form.current?.querySelector<HTMLElement>('input, select')?.focus();
  }, [sending.form]);

  const { purpose, venueId, spot, since, successorId, overlap } = entered.value;
  const venue = fleet.venues.find(({ id }) => id === venueId);
  const timeZone = venue?.timeZone ?? 'UTC';
  const rooms = fleet.rooms.filter((room) => room.venueId === venueId);
  const instruments = fleet.instruments.filter((instrument) => instrument.venueId === venueId);
  const roomId = rooms.some(({ id }) => id === entered.value.roomId)
    ? entered.value.roomId
    : (rooms[0]?.id ?? '');
  const instrumentId = instruments.some(({ id }) => id === entered.value.instrumentId)
    ? entered.value.instrumentId
    : (instruments[0]?.id ?? '');

  const save = async () => {
    const entries = new Entries();
    const atMs = fromInput(since, timeZone);
    if (atMs === null) entries.fault('fromMs', 'A day and a time are needed here.');
    const places = purpose === 'moved' || purpose === 'mended';
    if (purpose === 'replaced' && successorId === '') entries.fault('successorId', 'Choose a sensor.');
    if (places && spot === 'room' && roomId === '') entries.fault('roomId', 'Choose a room.');
    if (places && spot === 'inside' && instrumentId === '') {
      entries.fault('instrumentId', 'Choose an instrument.');
    }
    entries.check();
    if (placement && purpose === 'taken away') {
      const { id, ...rest } = placement;
      await call('putPlacement', { params: { id }, body: { ...rest, untilMs: atMs } });
    } else if (placement && purpose === 'replaced') {
      const { id, ...rest } = placement;
      const fromMs = atMs ?? 0;
      await call('putPlacement', {
        params: { id: newPlacement.value },
        body: { ...rest, sensorId: successorId, fromMs, untilMs: null },
      });
      await call('putPlacement', {
        params: { id },
        body: { ...rest, untilMs: overlap ? fromMs + besideMs : fromMs },
      });
    } else {
      await call('putPlacement', {
        params: { id: placement && purpose === 'mended' ? placement.id : newPlacement.value },
        body: {
          sensorId: sensor.id,
          spot,
          roomId: spot === 'room' ? roomId : null,
          instrumentId: spot === 'inside' ? instrumentId : null,
          venueId: spot === 'outdoors' ? venueId : null,
          fromMs: atMs ?? 0,
          untilMs: null,
        },
      });
    }
    await refresh();
    route('/sensors');
  };

  const choosePurpose = (next: Purpose) => {
    const atMs = next === 'mended' && placement ? placement.fromMs : Date.now();
    set({ purpose: next, since: toInput(atMs, timeZone) });
  };

  if (!venue) {
    return (
      <p class="place-form">
        There is nothing yet where it could stand: <a href="/settings/venues/new">enter a venue</a> and a room
        first. What it sends meanwhile is kept.
      </p>
    );
  }
  return (
    <SendForm sending={sending} class="place-form" label={`Place of ${sensor.urn}`} onSend={save}>
      {placement && (
        <Segments
          legend="What happened"
          name="purpose"
          value={purpose}
          choices={[
            ['moved', 'moved'],
            ['replaced', 'replaced'],
            ['mended', 'entered wrongly'],
            ['taken away', 'taken away'],
          ]}
          onChoose={choosePurpose}
        />
      )}
      {purpose === 'replaced' && (
        <>
          <SelectField
            name="successorId"
            label="By"
            value={successorId}
            choices={
              successors.length === 0
                ? [['', 'no sensor waits for a place']]
                : successors.map(({ id, urn }) => [id, urn])
            }
            hint={
              successors.length === 0
                ? 'Switch the new one on: it shows up here once its first reading has come in.'
                : undefined
            }
            fault={sending.faultOf('successorId')}
            onValue={(chosen) => set({ successorId: chosen })}
          />
          <CheckField
            name="overlap"
            label="Both stay side by side for a day"
            hint="Then how much they differ is offered as a calibration of the new one, and the change leaves no step."
            checked={overlap}
            onValue={(chosen) => set({ overlap: chosen })}
          />
        </>
      )}
      {(purpose === 'moved' || purpose === 'mended') && (
        <>
          <SelectField
            name="venueId"
            label="Venue"
            value={venueId}
            choices={fleet.venues.map(({ id, name }) => [id, name])}
            fault={sending.faultOf('venueId')}
            onValue={(chosen) => set({ venueId: chosen })}
          />
          <Segments
            legend="Where it measures"
            name="spot"
            value={spot}
            choices={[
              ['room', 'in a room'],
              ['inside', 'in an instrument'],
              ['outdoors', 'outdoors'],
            ]}
            onChoose={(chosen) => set({ spot: chosen })}
          />
          {spot === 'room' && (
            <SelectField
              name="roomId"
              label="Room"
              value={roomId}
              choices={rooms.map(({ id, name }) => [id, name])}
              hint={rooms.length === 0 ? 'This venue has no room yet: enter one under Settings.' : undefined}
              fault={sending.faultOf('roomId')}
              onValue={(chosen) => set({ roomId: chosen })}
            />
          )}
          {spot === 'inside' && (
            <SelectField
              name="instrumentId"
              label="Instrument"
              value={instrumentId}
              choices={instruments.map(({ id, name, roomName }) => [id, `${roomName} · ${name}`])}
              hint={
                instruments.length === 0
                  ? 'This venue has no instrument yet: enter one under Settings.'
                  : 'Under the soundboard or within the case, clear of strings, dampers and any heater.'
              }
              fault={sending.faultOf('instrumentId')}
              onValue={(chosen) => set({ instrumentId: chosen })}
            />
          )}
        </>
      )}
      <TextField
        name="fromMs"
        type="datetime-local"
        label={
          purpose === 'taken away'
            ? 'Taken away on'
            : purpose === 'replaced'
              ? 'The new one stands there since'
              : 'Since'
        }
        hint={`By the clock of ${venue.name}.`}
        value={since}
        fault={sending.faultOf('fromMs') ?? sending.faultOf('untilMs')}
        onValue={(value) => set({ since: value })}
      />
      <Submit sending={sending} words={submitWords[purpose]} back="/sensors" />
    </SendForm>
  );
}
