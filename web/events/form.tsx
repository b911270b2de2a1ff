/** Enter or change an event: when, which pianos, what is asked of them. */
import { useSignal } from '@preact/signals';
import { useLocation, useRoute } from 'preact-iso';
import type { EventAhead, InstrumentSummary, Use, Venue } from '../../server/contract/index.ts';
import { uses } from '../../server/contract/index.ts';
import { Entries } from '../form/entries.ts';
import { CheckField, SelectField, TextField } from '../form/field.tsx';
import { newId } from '../form/new-id.ts';
import { partsOf } from '../form/parts.ts';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { Submit } from '../form/submit.tsx';
import { call } from '../service/call.ts';
import { refresh, useLive } from '../service/live.ts';
import { MissingPage } from '../shell/missing.tsx';
import { Page } from '../shell/page.tsx';
import { Waiting } from '../shell/waiting.tsx';
import { useNames } from '../words/terms.ts';
import { fromInput, toInput } from '../words/zoned.ts';
import './events.css';

export function EventPage() {
  const { params, query } = useRoute();
  const venues = useLive('venues', {});
  const events = useLive('eventsAhead', {}).answer.value;
  const pianos = useLive('instruments', {}).answer.value;
  const listed = venues.answer.value;
  if (!listed || !events || !pianos) {
    return (
      <Page title="Event" narrow>
        <Waiting error={venues.error.value} what="the event" />
      </Page>
    );
  }
  const event = events.find(({ id }) => id === params.id) ?? null;
  if (!event && params.id !== 'new') return <MissingPage />;
  const withPianos = listed.filter((venue) => pianos.some((one) => one.venueId === venue.id));
  const venueId = event?.venueId ?? query.venue ?? withPianos[0]?.id ?? '';
  return (
    <EventForm key={event?.id ?? 'new'} event={event} venues={withPianos} venueId={venueId} pianos={pianos} />
  );
}

interface EventFormProps {
  readonly event: EventAhead | null;
  readonly venues: readonly Venue[];
  readonly venueId: string;
  readonly pianos: readonly InstrumentSummary[];
}

function EventForm({ event, venues, venueId, pianos }: EventFormProps) {
  const { route } = useLocation();
  const sending = useSending();
  const id = useSignal(event?.id ?? newId());
  const zoneOf = (venue: string) => venues.find((one) => one.id === venue)?.timeZone ?? 'UTC';
  const entered = useSignal({
    venueId,
    name: event?.name ?? '',
    start: event ? toInput(event.startMs, event.timeZone) : '',
    required: (event?.required ?? '') as Use | '',
    chosen: new Set(event?.instrumentIds ?? []),
  });
  const set = (change: Partial<typeof entered.value>) => {
    entered.value = { ...entered.value, ...change };
  };
  const part = partsOf(entered.value, set);
  const there = pianos.filter((one) => one.venueId === entered.value.venueId);
  const save = async () => {
    const { venueId: at, name, start, required, chosen } = entered.value;
    const entries = new Entries();
    const startMs = fromInput(start, zoneOf(at));
    if (startMs === null) entries.fault('startMs', 'Day and hour are needed here.');
    const instrumentIds = there.map((one) => one.id).filter((one) => chosen.has(one));
    if (instrumentIds.length === 0) entries.fault('instrumentIds', 'Choose at least one piano.');
    entries.check();
    const body = { venueId: at, name, startMs: startMs ?? 0, instrumentIds, required: required || null };
    await call('putEvent', { params: { id: id.value }, body });
    await refresh();
    route('/events');
  };
  const pianosFault = sending.faultOf('instrumentIds');
  return (
    <Page title={event ? event.name : 'New event'} narrow>
      <p class="crumbs">
        <a href="/events">Events</a>
      </p>
      <h1>{event ? event.name : 'An event'}</h1>
      <p class="lead">
        {event ? event.sentence : 'A concert, an examination, a recording: what needs a piano in tune.'}
      </p>
      <SendForm sending={sending} onSend={save}>
        <TextField {...part('name')} label="Name" required maxLength={120} fault={sending.faultOf('name')} />
        <SelectField
          name="venueId"
          label="Venue"
          value={entered.value.venueId}
          choices={venues.map((venue) => [venue.id, venue.name])}
          fault={sending.faultOf('venueId')}
          onValue={(chosen) => set({ venueId: chosen, chosen: new Set() })}
        />
        <TextField
          {...part('start')}
          name="startMs"
          label="Begins"
          type="datetime-local"
          hint={`By the clock of the venue, ${zoneOf(entered.value.venueId).replaceAll('_', ' ')}.`}
          fault={sending.faultOf('startMs')}
        />
        <SelectField
          {...part('required')}
          label="What is asked of the tuning"
          choices={[
            ['', 'what each piano’s own use asks'] as const,
            ...uses.map((use) => [use, `as for ${useNames[use].toLowerCase()} use`] as const),
          ]}
        />
        <fieldset aria-describedby={pianosFault ? 'pianos-fault' : undefined}>
          <legend>Pianos it needs</legend>
          {pianosFault && (
            <p class="fault" id="pianos-fault">
              {pianosFault}
            </p>
          )}
          {there.map((one) => (
            <CheckField
              key={one.id}
              name="instrumentIds"
              label={`${one.name}, ${one.roomName}`}
              checked={entered.value.chosen.has(one.id)}
              onValue={(checked) => {
                const chosen = new Set(entered.value.chosen);
                if (checked) chosen.add(one.id);
                else chosen.delete(one.id);
                set({ chosen });
              }}
            />
          ))}
          {there.length === 0 && <p class="quiet">No piano stands at this venue.</p>}
        </fieldset>
        <Submit sending={sending} words="Save the event" back="/events" />
      </SendForm>
      {event && <CallOff event={event} />}
    </Page>
  );
}

/** An event that does not take place asks for nothing: pressed twice, so that a finger that slips ends none. */
function CallOff({ event }: { readonly event: EventAhead }) {
  const { route } = useLocation();
  const sending = useSending('Not taken away');
  const sure = useSignal(false);
  const remove = async () => {
    await call('removeEvent', { params: { id: event.id } });
    await refresh();
    route('/events');
  };
  return (
    <section class="call-off">
      <p>
        It does not take place?{' '}
        {sure.value ? (
          <>
            <button
              type="button"
              class="link"
              disabled={sending.busy}
              onClick={() => void sending.send(remove)}
            >
              Take it away, yes
            </button>{' '}
            ·{' '}
            <button
              type="button"
              class="link"
              onClick={() => {
                sure.value = false;
              }}
            >
              Keep it
            </button>
          </>
        ) : (
          <button
            type="button"
            class="link"
            onClick={() => {
              sure.value = true;
            }}
          >
            Take it away<span class="unseen">: {event.name}</span>
          </button>
        )}
      </p>
      <p class="quiet">Its tuning is then no longer asked for, and it leaves the calendars.</p>
      <p role="alert" class="trouble">
        {sending.trouble}
      </p>
    </section>
  );
}
