/** What the watch goes by at one place: each value with where it comes from; a value set here holds here and below. */
import { useLocation, useRoute } from 'preact-iso';
import { SelectField } from '../form/field.tsx';
import { useLive } from '../service/live.ts';
import { MissingPage } from '../shell/missing.tsx';
import { Moved } from '../shell/moved.tsx';
import { Page } from '../shell/page.tsx';
import { Waiting } from '../shell/waiting.tsx';
import { SettingsForm } from './form.tsx';
import { addressOf, chainTo, type Place, type Registry } from './places.ts';
import './watch-settings.css';

/** Without a place: the organisation's. */
export function WatchSettingsTop() {
  const { answer, error } = useLive('organisation', {}, 300_000);
  if (answer.value) return <Moved to={addressOf({ scope: 'organisation', id: answer.value.id })} />;
  return (
    <Page title="The watch">
      <Waiting error={error.value} what="the settings" />
    </Page>
  );
}

export function WatchSettingsPage() {
  const { params } = useRoute();
  const organisation = useLive('organisation', {}, 300_000);
  const venues = useLive('venues', {}, 300_000).answer.value;
  const rooms = useLive('rooms', {}, 300_000).answer.value;
  const instruments = useLive('instruments', {}, 300_000).answer.value;
  if (!organisation.answer.value || !venues || !rooms || !instruments) {
    return (
      <Page title="The watch">
        <Waiting error={organisation.error.value} what="the settings" />
      </Page>
    );
  }
  const known = { organisation: organisation.answer.value, venues, rooms, instruments };
  const chain = chainTo(params.scope ?? '', params.id ?? '', known);
  if (!chain) return <MissingPage />;
  return <Shown key={params.id} chain={chain} known={known} />;
}

function Shown({ chain, known }: { readonly chain: readonly Place[]; readonly known: Registry }) {
  const { route } = useLocation();
  const place = chain.at(-1);
  const page = useLive('settings', place ? { params: { scope: place.scope, id: place.id } } : null, 300_000);
  if (!place || !page.answer.value) {
    return (
      <Page title="The watch">
        <Waiting error={page.error.value} what="the settings" />
      </Page>
    );
  }
  const above = chain.slice(0, -1);
  const choices = [
    [addressOf({ scope: 'organisation', id: known.organisation.id }), 'Everywhere'] as const,
    ...known.venues.flatMap((venue) => [
      [addressOf({ scope: 'venue', id: venue.id }), venue.name] as const,
      ...known.rooms
        .filter((room) => room.venueId === venue.id)
        .map((room) => [addressOf({ scope: 'room', id: room.id }), `${venue.name} · ${room.name}`] as const),
    ]),
    ...(place.scope === 'instrument' ? [[addressOf(place), place.name] as const] : []),
  ];
  return (
    <Page title={`The watch: ${place.name}`}>
      <p class="crumbs">
        <a href="/settings">Settings</a>
        {above.map((one) => (
          <span key={one.id}>
            {' · '}
            <a href={addressOf(one)}>{one.scope === 'organisation' ? 'The watch' : one.name}</a>
          </span>
        ))}
      </p>
      <h1>
        {place.scope === 'organisation' ? 'What the watch goes by' : `What the watch goes by: ${place.name}`}
      </h1>
      <p class="lead">
        A value set here holds {place.scope === 'instrument' ? 'for this instrument alone' : 'here and below'}
        ; the nearest one counts: organisation, venue, room, instrument.{' '}
        <a href="/settings/watch-quality">How good the watch is</a>
      </p>
      <div class="where">
        <SelectField
          name="where"
          label="Set for"
          value={addressOf(place)}
          choices={choices}
          onValue={(address) => route(address)}
        />
      </div>
      <SettingsForm place={place} chain={chain} page={page.answer.value} />
    </Page>
  );
}
