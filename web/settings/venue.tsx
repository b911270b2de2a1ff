/** Enter or change a venue. */
import { useSignal } from '@preact/signals';
import { useLocation, useRoute } from 'preact-iso';
import type { Venue } from '../../server/contract/index.ts';
import { useEntered } from '../form/entered.ts';
import { Entries } from '../form/entries.ts';
import { TextField } from '../form/field.tsx';
import { newId } from '../form/new-id.ts';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { Submit } from '../form/submit.tsx';
import { TimeZoneField } from '../form/time-zone.tsx';
import { call } from '../service/call.ts';
import { refresh, useLive } from '../service/live.ts';
import { MissingPage } from '../shell/missing.tsx';
import { Page } from '../shell/page.tsx';
import { Waiting } from '../shell/waiting.tsx';
import { plain } from '../words/numbers.ts';
import './settings.css';

export function VenuePage() {
  const { params } = useRoute();
  const { answer, error } = useLive('venues', {});
  const venues = answer.value;
  if (params.id === 'new') return <VenueForm key="new" venue={null} first={venues?.length === 0} />;
  if (!venues) {
    return (
      <Page title="Venue" narrow>
        <Waiting error={error.value} what="the venue" />
      </Page>
    );
  }
  const venue = venues.find(({ id }) => id === params.id);
  return venue ? <VenueForm key={venue.id} venue={venue} first={false} /> : <MissingPage />;
}

function VenueForm({ venue, first }: { readonly venue: Venue | null; readonly first: boolean }) {
  const { route } = useLocation();
  const sending = useSending();
  const id = useSignal(venue?.id ?? newId());
  const { text, field } = useEntered(
    {
      name: venue?.name ?? '',
      wayMinutes: typeof venue?.wayMinutes === 'number' ? plain(venue.wayMinutes) : '',
      timeZone: venue?.timeZone ?? Intl.DateTimeFormat().resolvedOptions().timeZone,
    },
    sending,
  );
  const save = async () => {
    const entries = new Entries();
    const body = { ...text, wayMinutes: entries.optional('wayMinutes', text.wayMinutes) };
    entries.check();
    const saved = await call('putVenue', { params: { id: id.value }, body });
    await refresh();
    route(first ? `/settings/rooms/new?venue=${saved.id}` : '/settings');
  };
  return (
    <Page title={venue ? venue.name : 'New venue'} narrow>
      <h1>{venue ? venue.name : 'A venue'}</h1>
      <p class="lead">A school, a hall, a church or a home: where instruments stand.</p>
      <SendForm sending={sending} onSend={save}>
        <TextField {...field('name')} label="Name" required maxLength={120} />
        <TimeZoneField
          {...field('timeZone')}
          hint="Region and city, such as Europe/Vienna. Every date of this venue is said by its clock."
        />
        <TextField
          {...field('wayMinutes')}
          numeric
          label="The way there"
          unit="minutes"
          hint="One way. Rounds and the year plan count with it; half an hour where it is not known."
        />
        <Submit sending={sending} words="Save the venue" back="/settings" />
      </SendForm>
      {venue && (
        <p class="to-watch">
          <a href={`/settings/watch/venue/${venue.id}`}>What the watch goes by here</a> ·{' '}
          <a href={`/venues/${venue.id}/weather`}>Weather to come</a> ·{' '}
          <a href={`/venues/${venue.id}/tasks`}>Task link</a>
        </p>
      )}
    </Page>
  );
}
