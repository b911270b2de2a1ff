/** On this device: what is being written, what waits, what was sent; and a sheet for any instrument, without a signal too. */

import { useEffect, useState } from 'preact/hooks';
import { useLocation } from 'preact-iso';
import type { VisitBrief } from '../../server/contract/index.ts';
import { Page } from '../shell/page.tsx';
import { draftOfVisit } from '../visit-sheet/from-visit.ts';
import { clock, longDay } from '../words/times.ts';
import { addressOf, drafts, readDrafts } from './drafts.ts';
import { askToLast, lasting, lastingWords } from './lasting.ts';
import { outbox, readOutbox, sendAgain, sendAsCorrection, sending, sendWaiting, trouble } from './outbox.ts';
import { type Outgoing, openAgain, shelf } from './store.ts';
import { takeIn, unsentFile } from './unsent-file.ts';
import './device.css';

const here = Intl.DateTimeFormat().resolvedOptions().timeZone;
const at = (ms: number): string => `${longDay(ms, here)}, ${clock(ms, here)}`;

const stateWords = { waiting: 'on this device, not sent yet', sent: 'sent', refused: 'refused' } as const;

/** What was refused is written on as a draft under its own id: nobody has taken it. */
async function putRight(entry: Outgoing, brief: VisitBrief, route: (to: string) => void): Promise<void> {
  const draft = { ...draftOfVisit(entry.body, brief, entry.body.corrects), id: entry.id };
  await openAgain(entry, draft);
  await Promise.all([readOutbox(), readDrafts()]);
  route(addressOf(draft));
}

function Entry({ entry, brief }: { readonly entry: Outgoing; readonly brief: VisitBrief | undefined }) {
  const { route } = useLocation();
  const ahead = entry.body.sheet?.clockAheadMs;
  return (
    <li class={`outgoing ${entry.state}`}>
      <p>
        <b>
          <a href={`/instruments/${entry.instrumentId}`}>{entry.title}</a>
        </b>
        , {at(entry.closedMs)}: {stateWords[entry.state]}
        {entry.state === 'sent' && entry.sentMs !== null && ` ${at(entry.sentMs)}`}
        {entry.photoIds.length > 0 && `, ${entry.photoIds.length} photos`}
      </p>
      {ahead !== undefined && (
        <p class="quiet">
          {`This device's clock was ${Math.round(Math.abs(ahead) / 60_000)} min ${ahead > 0 ? 'ahead' : 'behind'}; the visit's time was put right.`}
        </p>
      )}
      {entry.said && <p class={entry.state === 'refused' ? 'trouble' : 'quiet'}>{entry.said}</p>}
      {entry.contradicted && (
        <button type="button" class="button quiet" onClick={() => void sendAsCorrection(entry)}>
          Send it as a correction of the other
        </button>
      )}
      {entry.state === 'sent' && (
        <>
          <a href={`/api/visits/${entry.id}/report.pdf`} target="_blank" rel="noreferrer">
            Report
          </a>{' '}
          <button type="button" class="link" onClick={() => void sendAgain(entry)}>
            Send again
          </button>{' '}
          <span class="quiet">in doubt; it changes nothing twice</span>
        </>
      )}
      {entry.state === 'refused' && !entry.contradicted && (
        <>
          {brief && (
            <button type="button" class="button quiet" onClick={() => void putRight(entry, brief, route)}>
              Put it right
            </button>
          )}{' '}
          <button type="button" class="link" onClick={() => void sendAgain(entry)}>
            Try again
          </button>
        </>
      )}
    </li>
  );
}

export function DevicePage() {
  const [briefs, setBriefs] = useState<readonly VisitBrief[]>([]);
  const [wanted, setWanted] = useState('');
  const [said, setSaid] = useState('');
  const read = async () => {
    const db = await shelf();
    await readDrafts();
    setBriefs(await db.getAll('briefs'));
    await readOutbox();
  };
  useEffect(() => {
    read().catch(() => setSaid('This browser keeps nothing, so nothing can be written without a signal.'));
    void askToLast();
  }, []);
  const waiting = outbox.value.filter(({ state }) => state !== 'sent');
  const written = drafts.value;
  const unsent = waiting.length + written.length;
  const oldest = Math.min(...waiting.map(({ closedMs }) => closedMs), Number.POSITIVE_INFINITY);
  const hours = Number.isFinite(oldest) ? (Date.now() - oldest) / 3_600_000 : 0;
  const save = async () => {
    const link = document.createElement('a');
    link.href = URL.createObjectURL(new Blob([await unsentFile()], { type: 'application/json' }));
    link.download = `unsent visits ${new Date().toISOString().slice(0, 10)}.json`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  };
  const found = briefs.filter((brief) =>
    `${brief.venueName} ${brief.roomName} ${brief.name}`.toLowerCase().includes(wanted.trim().toLowerCase()),
  );
  return (
    <Page title="On this device" narrow>
      <div class="device">
        <h1>On this device</h1>
        <p class="lead">
          {unsent === 0
            ? 'Nothing waits here: everything was sent.'
            : `${waiting.length} to send, ${written.length} being written.`}{' '}
          {hours >= 24 &&
            `The oldest has waited for ${Math.floor(hours / 24)} ${hours < 48 ? 'day' : 'days'}: find a signal.`}
        </p>
        <p class="quiet">{lastingWords[lasting.value]}</p>
        <p class="device-acts">
          {waiting.length > 0 && (
            <button type="button" class="button" disabled={sending.value} onClick={() => void sendWaiting()}>
              {sending.value ? 'Sending …' : 'Send now'}
            </button>
          )}
          {unsent > 0 && (
            <button type="button" class="button quiet" onClick={() => void save()}>
              Save unsent work to a file
            </button>
          )}
          <label class="button quiet file-button">
            <input
              type="file"
              accept="application/json"
              onChange={async (event) => {
                const file = event.currentTarget.files?.[0];
                event.currentTarget.value = '';
                if (!file) return;
                try {
                  const { visits, drafts: many } = await takeIn(await file.text());
                  setSaid(`Taken in: ${visits} to send, ${many} being written.`);
                  await read();
                } catch (error) {
                  setSaid(error instanceof Error ? error.message : String(error));
                }
              }}
            />
            Take in such a file
          </label>
        </p>
        <p role="status">{said}</p>
        <p class="trouble" role="alert">
          {trouble.value}
        </p>
        {written.length > 0 && (
          <section>
            <h2>Being written</h2>
            <ul>
              {written.map((draft) => {
                const brief = briefs.find((one) => one.instrumentId === draft.instrumentId);
                return (
                  <li key={draft.id}>
                    <a href={addressOf(draft)}>
                      {brief ? `${brief.roomName} · ${brief.name}` : 'An instrument'}
                    </a>
                    , begun {at(draft.beganMs)}
                  </li>
                );
              })}
            </ul>
          </section>
        )}
        {outbox.value.length > 0 && (
          <section aria-labelledby="outbox">
            <h2 id="outbox">Closed</h2>
            <ul>
              {outbox.value.map((entry) => (
                <Entry
                  key={entry.id}
                  entry={entry}
                  brief={briefs.find(({ instrumentId }) => instrumentId === entry.instrumentId)}
                />
              ))}
            </ul>
          </section>
        )}
        <p>
          <a href="/fleet">Condition of the fleet</a>, <a href="/inventory">inventory, labels, reports</a>
        </p>
        <section>
          <h2>Begin a visit</h2>
          <label class="line">
            <span>Which instrument</span>
            <input type="search" value={wanted} onInput={(event) => setWanted(event.currentTarget.value)} />
          </label>
          <ul class="briefs">
            {found.slice(0, 60).map((brief) => (
              <li key={brief.instrumentId}>
                <a href={`/instruments/${brief.instrumentId}/sheet`}>
                  {brief.venueName} · {brief.roomName} · {brief.name}
                </a>
              </li>
            ))}
          </ul>
          {found.length > 60 && <p class="quiet">{found.length - 60} more: search.</p>}
          {briefs.length === 0 && (
            <p class="quiet">Open this page once with a signal, and every instrument is here.</p>
          )}
        </section>
      </div>
    </Page>
  );
}
