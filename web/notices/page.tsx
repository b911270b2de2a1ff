/** Everything the watch has found and that goes on: what was acknowledged and is not solved, oldest first, and the rest. */
import type { Notice } from '../../server/contract/index.ts';
import { useLive } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { capital, count } from '../words/numbers.ts';
import { OneNotice } from './notice.tsx';

export function NoticesPage() {
  const { answer, error } = useLive('notices', { query: { over: 'no' } });
  const venues = useLive('venues', {}, 60_000).answer.value;
  const all = answer.value;
  if (!all || !venues) {
    return (
      <Page title="Notices">
        <Waiting error={error.value} what="the notices" />
      </Page>
    );
  }
  const membersOf = ({ id }: Notice) => all.filter(({ partOf }) => partOf === id);
  const zoneOf = ({ venueId }: Notice) => venues.find((venue) => venue.id === venueId)?.timeZone ?? 'UTC';
  // What is told under a venue-wide notice is told there.
  const open = all.filter(({ partOf, state }) => partOf === null && state !== 'over');
  const known = open
    .filter(({ acknowledged }) => acknowledged !== null)
    .toSorted((a, b) => a.beganMs - b.beganMs);
  const others = open
    .filter(({ acknowledged }) => acknowledged === null)
    .toSorted((a, b) => b.severity - a.severity || b.beganMs - a.beganMs);
  return (
    <Page title="Notices">
      <p class="crumbs">
        <a href="/rounds">Rounds</a>
      </p>
      <h1>
        {open.length === 0
          ? 'The watch has found nothing that goes on'
          : `${capital(count(open.length, 'notice'))} ${open.length === 1 ? 'is' : 'are'} open`}
      </h1>
      <p class="lead">
        {known.length === 0
          ? 'None of them is acknowledged.'
          : `${capital(count(known.length, 'of them is', 'of them are'))} acknowledged and not solved.`}
      </p>
      <Stale error={error.value} />
      <div class="notices-list">
        <List
          id="known"
          heading="Acknowledged, not solved, oldest first"
          notices={known}
          zoneOf={zoneOf}
          membersOf={membersOf}
        />
        <List
          id="open"
          heading="Not acknowledged, most pressing first"
          notices={others}
          zoneOf={zoneOf}
          membersOf={membersOf}
        />
      </div>
    </Page>
  );
}

interface ListProps {
  readonly id: string;
  readonly heading: string;
  readonly notices: readonly Notice[];
  readonly zoneOf: (notice: Notice) => string;
  readonly membersOf: (notice: Notice) => readonly Notice[];
}

function List({ id, heading, notices, zoneOf, membersOf }: ListProps) {
  if (notices.length === 0) return null;
  return (
    <section class="notices" aria-labelledby={id}>
      <h2 id={id}>{heading}</h2>
      <ul>
        {notices.map((notice) => (
          <OneNotice
            key={notice.id}
            notice={notice}
            members={membersOf(notice)}
            timeZone={zoneOf(notice)}
            withPlace
          />
        ))}
      </ul>
    </section>
  );
}
