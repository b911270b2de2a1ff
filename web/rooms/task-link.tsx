/** The link to a venue's tasks, for whoever fills the humidifiers: made, shown once, taken away. */
import { useSignal } from '@preact/signals';
import { useRoute } from 'preact-iso';
import { useSending } from '../form/sending.ts';
import { call } from '../service/call.ts';
import { refresh, useLive } from '../service/live.ts';
import { MissingPage } from '../shell/missing.tsx';
import { Page } from '../shell/page.tsx';
import { Waiting } from '../shell/waiting.tsx';
import { longDay, nearDay } from '../words/times.ts';
import './rooms.css';

export function TaskLinkPage() {
  const { params } = useRoute();
  const venues = useLive('venues', {});
  const links = useLive('taskLinks', {}).answer.value;
  const sending = useSending('Not done');
  const made = useSignal<string | null>(null);
  const onlyHere = useSignal(false);
  const listed = venues.answer.value;
  if (!listed || !links) {
    return (
      <Page title="Task link" narrow>
        <Waiting error={venues.error.value} what="the link" />
      </Page>
    );
  }
  const venue = listed.find(({ id }) => id === params.id);
  if (!venue) return <MissingPage />;
  const link = links.find((one) => one.venueId === venue.id);
  const want = (kind: 'new' | 'none') =>
    sending.send(async () => {
      const { path, url } = await call('putTaskLink', { params: { id: venue.id }, body: { want: kind } });
      made.value = url ?? (path === null ? null : location.origin + path);
      onlyHere.value = path !== null && url === null;
      await refresh();
    });
  return (
    <Page title={`Task link, ${venue.name}`} narrow>
      <p class="crumbs">
        <a href="/rooms">Rooms</a> · {venue.name}
      </p>
      <h1>A link for whoever fills the humidifiers</h1>
      <p class="lead">
        It opens the day’s tasks of {venue.name} without an account: what to do, a tick, a word, a photo. Give
        it only to whom you would give the key; whoever has it can read the tasks and tick them, and nothing
        else.
      </p>
      <div class="task-link">
        {made.value !== null && (
          <>
            <p>
              <b>Copy it now; it is shown this once:</b>
            </p>
            <code class="task-secret">{made.value}</code>
            {onlyHere.value && (
              <p class="quiet">
                It opens on this machine only: the service was not told where people reach it (PUBLIC_URL).
              </p>
            )}
          </>
        )}
        <p class="quiet">
          {link
            ? `Made on ${longDay(link.madeMs, venue.timeZone)}; ${link.usedMs === null ? 'nobody has opened it yet' : `last opened ${nearDay(link.usedMs, venue.timeZone)}`}.`
            : 'There is none for this venue.'}
        </p>
        <p role="alert" class="trouble">
          {sending.trouble}
        </p>
        <div class="submit-row">
          <button type="button" class="button" disabled={sending.busy} onClick={() => void want('new')}>
            {link ? 'Make a new one, the old one ends' : 'Make a link'}
          </button>
          {link && (
            <button
              type="button"
              class="button quiet"
              disabled={sending.busy}
              onClick={() => void want('none')}
            >
              Take it away
            </button>
          )}
        </div>
      </div>
    </Page>
  );
}
