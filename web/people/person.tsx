/** Enter or change a person: who, where, which hours, what about. */
import { useSignal } from '@preact/signals';
import { useLocation, useRoute } from 'preact-iso';
import type { InstrumentSummary, Person, PersonBody, Venue } from '../../server/contract/index.ts';
import { Choices } from '../form/choices.tsx';
import { useEntered } from '../form/entered.ts';
import { SelectField, TextField } from '../form/field.tsx';
import { newId } from '../form/new-id.ts';
import { Segments } from '../form/segments.tsx';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { Submit } from '../form/submit.tsx';
import { TimeZoneField } from '../form/time-zone.tsx';
import { call } from '../service/call.ts';
import { refresh, useLive } from '../service/live.ts';
import { MissingPage } from '../shell/missing.tsx';
import { Page } from '../shell/page.tsx';
import { Waiting } from '../shell/waiting.tsx';
import { longDay } from '../words/times.ts';
import { Calendar } from './calendar.tsx';
import { hourWords, roleWords } from './person-words.ts';
import './people.css';

export function PersonPage() {
  const { params } = useRoute();
  const people = useLive('people', {}, 300_000);
  const venues = useLive('venues', {}, 300_000).answer.value;
  const instruments = useLive('instruments', {}, 300_000).answer.value;
  const listed = people.answer.value;
  if (!listed || !venues || !instruments) {
    return (
      <Page title="Person" narrow>
        <Waiting error={people.error.value} what="the person" />
      </Page>
    );
  }
  const person = listed.find(({ id }) => id === params.id) ?? null;
  if (!person && params.id !== 'new') return <MissingPage />;
  return <Form key={params.id} person={person} venues={venues} instruments={instruments} />;
}

interface FormProps {
  readonly person: Person | null;
  readonly venues: readonly Venue[];
  readonly instruments: readonly InstrumentSummary[];
}

const hours = Array.from({ length: 24 }, (_, hour) => [String(hour), hourWords(hour)] as const);
const reminders = ['0', '3', '7', '14', '30'] as const;

function bodyOf(person: Person | null): PersonBody {
  if (person) {
    const { id: _id, unsubscribedMs: _ended, calendarMadeMs: _made, ...body } = person;
    return body;
  }
  return {
    name: '',
    email: null,
    role: 'technician',
    language: 'en',
    timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone,
    digestHour: 7,
    quietFromHour: 21,
    quietUntilHour: 6,
    atOnce: 'urgent',
    reminderDays: 7,
    venueIds: [],
    instrumentIds: [],
  };
}

function Form({ person, venues, instruments }: FormProps) {
  const { route } = useLocation();
  const sending = useSending();
  const id = useSignal(person?.id ?? newId());
  const { text: body, set, field, choice } = useEntered(bodyOf(person), sending);
  const save = async () => {
    // What another role looked after is not kept for this one.
    const sent = {
      ...body,
      venueIds: body.role === 'venue manager' ? body.venueIds : [],
      instrumentIds: body.role === 'client' ? body.instrumentIds : [],
    };
    await call('putPerson', { params: { id: id.value }, body: sent });
    await refresh();
    route('/people');
  };
  const hour = (name: 'digestHour' | 'quietFromHour' | 'quietUntilHour', label: string, hint?: string) => (
    <SelectField
      name={name}
      label={label}
      hint={hint}
      value={String(body[name])}
      choices={hours}
      fault={sending.faultOf(name)}
      onValue={(value) => set({ [name]: Number(value) })}
    />
  );
  return (
    <Page title={person ? person.name : 'New person'} narrow>
      <p class="crumbs">
        <a href="/people">People</a>
      </p>
      <h1>{person ? person.name : 'A person'}</h1>
      {person?.unsubscribedMs ? (
        <p class="lead urgent">
          Wanted no more messages on {longDay(person.unsubscribedMs, person.timeZone)}. Saving starts them
          again: ask first.
        </p>
      ) : (
        <p class="lead">Where messages go, and when. What can wait comes once a day, in one message.</p>
      )}
      <SendForm sending={sending} onSend={save}>
        <TextField {...field('name')} label="Name" required maxLength={120} />
        <TextField
          name="email"
          type="email"
          label="E-mail"
          hint="Left empty nothing is sent; the calendar still works."
          value={body.email ?? ''}
          fault={sending.faultOf('email')}
          onValue={(email) => set({ email: email.trim() === '' ? null : email.trim() })}
        />
        <Segments
          {...choice('role')}
          legend="Is"
          choices={(['technician', 'venue manager', 'client'] as const).map((role) => [
            role,
            roleWords[role],
          ])}
        />
        {body.role === 'venue manager' && (
          <Choices
            legend="Looks after"
            name="venueIds"
            chosen={body.venueIds}
            choices={venues.map((venue) => [venue.id, venue.name])}
            fault={sending.faultOf('venueIds')}
            onChosen={(venueIds) => set({ venueIds })}
          />
        )}
        {body.role === 'client' && (
          <Choices
            legend="Owns"
            name="instrumentIds"
            chosen={body.instrumentIds}
            choices={instruments.map((one) => [one.id, `${one.venueName} · ${one.roomName} · ${one.name}`])}
            fault={sending.faultOf('instrumentIds')}
            onChosen={(instrumentIds) => set({ instrumentIds })}
          />
        )}
        <fieldset>
          <legend>Hours</legend>
          <TimeZoneField {...field('timeZone')} hint="Their own clock. Messages are written in English." />
          <div class="fields hours">
            {hour('digestHour', 'What can wait comes at')}
            {hour('quietFromHour', 'Nothing from')}
            {hour('quietUntilHour', 'until', 'The same hour twice: no quiet hours.')}
          </div>
          <Segments
            {...choice('atOnce')}
            legend="At once"
            choices={[
              ['urgent', 'what cannot wait'],
              ['never', 'nothing'],
            ]}
          />
          <Segments
            legend="What stays open is told again after"
            name="reminderDays"
            value={String(body.reminderDays)}
            choices={[...new Set([...reminders, String(body.reminderDays)])]
              .sort((a, b) => Number(a) - Number(b))
              .map((days) => [days, days === '0' ? 'never' : `${days} days`])}
            onChoose={(days) => set({ reminderDays: Number(days) })}
          />
        </fieldset>
        <Submit sending={sending} words="Save the person" back="/people" />
      </SendForm>
      {person && <Calendar person={person} />}
    </Page>
  );
}
