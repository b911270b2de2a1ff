/** What went out and why, what was not sent and why not, and what did not arrive. */
import type { DeliveryLog, Message } from '../../server/contract/index.ts';
import { useSending } from '../form/sending.ts';
import { Scroll } from '../marks/scroll.tsx';
import { call } from '../service/call.ts';
import { refresh, useLive } from '../service/live.ts';
import { nowMs } from '../service/now.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { capital, count } from '../words/numbers.ts';
import { moment, nearDay } from '../words/times.ts';
import './people.css';
import { Heads } from '../marks/heads.tsx';

/** The log is read where the reader sits. */
const here = Intl.DateTimeFormat().resolvedOptions().timeZone;

export function MessagesPage() {
  const { answer, error } = useLive('messages', {});
  const page = answer.value;
  if (!page) {
    return (
      <Page title="Messages">
        <Waiting error={error.value} what="the messages" />
      </Page>
    );
  }
  const amiss = page.messages.filter(({ state }) => state === 'stuck' || state === 'refused');
  const trying = page.messages.filter(({ state }) => state === 'waiting' || state === 'sending');
  return (
    <Page title="Messages">
      <p class="crumbs">
        <a href="/people">People</a>
      </p>
      <h1>
        {page.messages.length === 0 ? 'No message was sent yet' : headingOf(amiss.length, trying.length)}
      </h1>
      <p class="lead">{leadOf(amiss.length, trying.length)}</p>
      <Stale error={error.value} />
      {[...amiss, ...trying].length > 0 && (
        <ul class="amiss">
          {[...amiss, ...trying].map((message) => (
            <Amiss key={message.id} message={message} />
          ))}
        </ul>
      )}
      <Log log={page.log} />
    </Page>
  );
}

const waitWords = (trying: number): string =>
  `${capital(count(trying, 'message waits', 'messages wait'))} to be sent`;

function headingOf(amiss: number, trying: number): string {
  if (amiss > 0) return `${capital(count(amiss, 'message'))} did not arrive`;
  return trying > 0 ? waitWords(trying) : 'Everything that was to be said arrived';
}

function leadOf(amiss: number, trying: number): string {
  if (trying === 0) return 'Nothing is waiting to be sent.';
  return `${amiss > 0 ? `${waitWords(trying)}. ` : ''}What waits is tried again by itself, under the same name, so that it cannot arrive as two.`;
}

const stateWords: Readonly<Record<Message['state'], string>> = {
  waiting: 'waits',
  sending: 'is being sent',
  sent: 'was sent',
  refused: 'was refused',
  stuck: 'is stuck',
};

function Amiss({ message }: { readonly message: Message }) {
  const sending = useSending('Not tried');
  const again = async () => {
    await call('sendAgain', { params: { id: message.id } });
    await refresh();
  };
  const tried = message.attempts === 0 ? '' : `, after ${count(message.attempts, 'attempt')}`;
  return (
    <li>
      <h2>{message.subject}</h2>
      <p>
        To {message.to}: {stateWords[message.state]}
        {tried}
        {message.lastError && `: ${message.lastError}`}.
        {message.nextMs !== null && ` Next attempt ${moment(message.nextMs, here)}.`}
      </p>
      <p class="quiet">
        Made {nearDay(message.madeMs, here, nowMs.value)}, because {message.because}.{' '}
        <button type="button" class="link" disabled={sending.busy} onClick={() => void sending.send(again)}>
          Try again<span class="unseen">: {message.subject}</span>
        </button>
      </p>
      <p role="alert" class="trouble">
        {sending.trouble}
      </p>
    </li>
  );
}

function Log({ log }: Pick<DeliveryLog, 'log'>) {
  if (log.length === 0) {
    return (
      <p class="quiet log">
        Nothing has been said to anybody yet. Once something is, it stands here with its reason.
      </p>
    );
  }
  return (
    <section class="log" aria-labelledby="log">
      <h2 id="log">What was said, and what was kept quiet</h2>
      <Scroll labelledBy="log">
        <table>
          <Heads of={['When', 'To', 'What happened']} />
          <tbody>
            {log.map((one, i) => (
              // Entries have no other identity than their place in the log.
              <tr key={i}>
                <td class="when">{moment(one.atMs, here)}</td>
                <td>{one.to ?? '–'}</td>
                <td>{capital(one.sentence)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
    </section>
  );
}
