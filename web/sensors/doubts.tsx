/** Readings of a sensor that are left out because they jumped and came back; a person may believe them all the same. */
import { useState } from 'preact/hooks';
import { useRoute } from 'preact-iso';
import type { DoubtedStretch } from '../../server/contract/index.ts';
import { useSending } from '../form/sending.ts';
import { call } from '../service/call.ts';
import { refresh, useLive } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { capital, count, percent } from '../words/numbers.ts';
import { degrees } from '../words/temperature.ts';
import { moments } from '../words/times.ts';
import './doubts.css';

const timeZone = Intl.DateTimeFormat().resolvedOptions().timeZone;

function reach(least: number | null, most: number | null, say: (value: number) => string): string[] {
  if (least === null || most === null) return [];
  const [low, high] = [say(least), say(most)];
  return [low === high ? low : `${low} to ${high}`];
}

export function sentWords({ leastPct, mostPct, leastC, mostC }: DoubtedStretch): string {
  const parts = [
    ...reach(leastPct, mostPct, (value) => percent(value, 1)),
    ...reach(leastC, mostC, (value) => degrees(value)),
  ];
  return parts.join(', ') || '–';
}

export function DoubtsPage() {
  const { params } = useRoute();
  const sensorId = params.id ?? '';
  const { answer, error } = useLive('sensorDoubts', { params: { id: sensorId } });
  const [said, setSaid] = useState('');
  const sending = useSending();
  const page = answer.value;
  if (!page) {
    return (
      <Page title="Readings left out" narrow>
        <Waiting error={error.value} what="the sensor" />
      </Page>
    );
  }
  const decide = ({ fromMs, untilMs, believed }: DoubtedStretch) =>
    sending.send(async () => {
      const body = { fromMs, untilMs, believed: !believed };
      await call('believeReadings', { params: { id: sensorId }, body });
      setSaid(
        `${believed ? 'Left out again' : 'They count now'}. What rests on this sensor is worked out anew from then on.`,
      );
      await refresh();
    });
  return (
    <Page title="Readings left out" narrow>
      <h1>Readings in doubt</h1>
      <p class="lead">
        <code class="urn">{page.urn}</code>{' '}
        {page.stretches.length === 0
          ? 'sent none that jumped and came back.'
          : 'sent values far from those before them, and came back soon after.'}
      </p>
      <p class="quiet">
        They are kept as they came, but charts, moistures and notices leave them out. A jump that stays is
        believed by itself, as when a window was opened: three readings in a row that agree are enough. See to
        battery and contacts where it happens often.
      </p>
      <Stale error={error.value} />
      <p role="status">{said}</p>
      {page.stretches.length > 0 && (
        <ul class="doubts">
          {page.stretches.map((one) => {
            const when = moments(one.fromMs, one.untilMs, timeZone);
            return (
              <li key={one.fromMs}>
                <p>
                  <b>{when}</b>
                  <br />
                  {capital(count(one.readings, 'reading'))} of {sentWords(one)}:{' '}
                  {one.believed ? 'believed, and counts' : 'left out'}
                </p>
                <button
                  type="button"
                  class="button quiet"
                  disabled={sending.busy}
                  onClick={() => void decide(one)}
                >
                  {one.believed ? 'Leave out again' : 'Believe all the same'}
                  <span class="unseen"> what was sent {when}</span>
                </button>
              </li>
            );
          })}
        </ul>
      )}
      <p role="alert" class="trouble">
        {sending.trouble}
      </p>
      <p>
        <a class="button quiet" href="/sensors">
          To the sensors
        </a>
      </p>
    </Page>
  );
}
