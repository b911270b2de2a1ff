/** The decode bench: a message, how it is to be read, what that makes of it; then save, and read again what was set aside. */

import { useEffect, useState } from 'preact/hooks';
import { useRoute } from 'preact-iso';
import type { GatewayNow, SetAsideMessage } from '../../../server/contract/index.ts';
import { AreaField, SelectField, TextField } from '../../form/field.tsx';
import { SendForm } from '../../form/send-form.tsx';
import { useSending } from '../../form/sending.ts';
import { call } from '../../service/call.ts';
import { refresh, useLive } from '../../service/live.ts';
import { nowMs } from '../../service/now.ts';
import { GatewayHelp } from '../../settings/gateway-help.tsx';
import { Page } from '../../shell/page.tsx';
import { Stale, Waiting } from '../../shell/waiting.tsx';
import { count } from '../../words/numbers.ts';
import { lasting } from '../../words/times.ts';
import { wordsFor } from '../reason-words.ts';
import { type Draft, draftOf, profileOf } from './draft.ts';
import { guessFor, looksLikeSenml } from './guess.ts';
import { Outcome } from './outcome.tsx';
import { ProfileForm } from './profile-form.tsx';
import { shapes } from './shapes.ts';
import { useTrial } from './trial.ts';
import './bench.css';

const timeZone = Intl.DateTimeFormat().resolvedOptions().timeZone;
const pasted = 'pasted';

function parsed(text: string | null): unknown {
  try {
    return text === null ? undefined : JSON.parse(text);
  } catch {
    return undefined;
  }
}

const lineOf = (message: SetAsideMessage, now: number): string =>
  `${lasting(now - message.receivedMs)} ago: ${wordsFor(message.reason).why} – ${(message.text ?? `${message.bytes} bytes`).replaceAll(/\s+/g, ' ').slice(0, 60)}`;

interface BenchProps {
  readonly gateways: readonly GatewayNow[];
  readonly asked: string;
  readonly reason: string | undefined;
}

function Bench({ gateways, asked, reason }: BenchProps) {
  const [name, setName] = useState(
    gateways.some((one) => one.name === asked) ? asked : (gateways[0]?.name ?? ''),
  );
  const gateway = gateways.find((one) => one.name === name);
  const live = useLive('setAside', { query: { gateway: name, ...(reason ? { reason } : {}) } });
  // Those that came while somebody writes must not take the chosen one's place.
  const [chosen, setChosen] = useState<string | null>(null);
  const [text, setText] = useState('');
  const [topic, setTopic] = useState('');
  const [draft, setDraft] = useState<Draft | null>(null);
  const [said, setSaid] = useState('');
  const sending = useSending('Not done');

  const messages = live.answer.value ?? [];
  const first = messages[0];
  const at = chosen ?? (first ? String(first.id) : pasted);
  const message = at === pasted ? undefined : messages.find(({ id }) => String(id) === at);
  const body = message ? message.text : text;
  const document = parsed(body);
  const saved = gateway?.profile ?? { kind: 'senml' };
  const topics = messages.map((one) => one.topic);
  const guess = guessFor(body, document, message?.topic ?? topic.trim(), topics);
  // SenML whose names or times are at fault is SenML all the same; only a unit that it leaves out can be said here.
  const isOdd = !looksLikeSenml(document) || message?.reason === 'unknown-unit';
  // A message that nothing reads yet is met with a guess; the saved profile is one press away.
  const guessed = guess !== null && saved.kind === 'senml' && isOdd ? guess : saved;
  const shown = draft ?? draftOf(guessed);
  const profile = profileOf(shown);
  const tried = message
    ? { setAsideId: message.id }
    : text.trim() === ''
      ? null
      : { text, topic: topic.trim() === '' ? `readings/${name}` : topic.trim() };
  const { outcome, trouble } = useTrial(name, profile, tried);

  useEffect(() => {
    if (chosen === null && first) setChosen(String(first.id));
  }, [chosen, first]);

  const isSaved = JSON.stringify(profileOf(draftOf(saved))) === JSON.stringify(profile);
  const waiting = gateway?.setAside ?? 0;
  const save = async () => {
    await call('putProfile', { params: { name }, body: profile });
    setSaid(`Messages of ${name} are read like this from now on.`);
    await refresh();
  };
  const replay = async () => {
    const { read, left, stored, duplicates, conflicts, sentence } = await call('replaySetAside', {
      params: { name },
    });
    const parts = [
      `${count(read, 'message')} read: ${count(stored, 'value')} stored`,
      ...(duplicates > 0 ? [`${duplicates} there already`] : []),
      ...(conflicts > 0 ? [`${conflicts} against what is kept`] : []),
    ];
    setSaid(
      `${parts.join(', ')}. ${left === 0 ? 'Nothing stays set aside.' : `${left} stay set aside; the first: ${sentence ?? ''}`}`,
    );
    setChosen(null);
    await refresh();
  };

  return (
    <SendForm sending={sending} class="bench" onSend={save}>
      <Stale error={live.error.value} />
      <section aria-labelledby="bench-message">
        <h2 id="bench-message">The message</h2>
        <div class="fields">
          <SelectField
            name="gateway"
            label="Gateway"
            value={name}
            choices={gateways.map((one) => [
              one.name,
              one.setAside === 0 ? one.name : `${one.name}, ${one.setAside} set aside`,
            ])}
            onValue={(next) => {
              setName(next);
              setChosen(null);
              setDraft(null);
              setSaid('');
            }}
          />
          <SelectField
            name="message"
            label="Message"
            value={message ? String(message.id) : pasted}
            choices={[
              ...messages.map((one) => [String(one.id), lineOf(one, nowMs.value)] as const),
              [pasted, 'one I paste'] as const,
            ]}
            onValue={(next) => {
              setChosen(next);
              setDraft(null);
            }}
          />
        </div>
        {message ? (
          <>
            <p class="quiet">
              By <code>{message.topic}</code>. {message.sentence}
            </p>
            {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a long message scrolls by keyboard too */}
            <pre class="bench-text" tabIndex={0}>
              {message.text === null
                ? `${message.bytes} bytes that are no text`
                : document === undefined
                  ? message.text
                  : JSON.stringify(document, null, 1)}
              {!message.whole && ' …'}
            </pre>
          </>
        ) : (
          <>
            <AreaField
              name="text"
              label="As it was sent"
              value={text}
              maxLength={200_000}
              onValue={setText}
            />
            <TextField
              name="topic"
              label="Its topic"
              placeholder={`readings/${name}`}
              value={topic}
              onValue={setTopic}
            />
          </>
        )}
      </section>
      <section aria-labelledby="bench-profile">
        <h2 id="bench-profile">How it is to be read</h2>
        <div class="fields">
          <SelectField
            name="shape"
            label="Begin with"
            value=""
            choices={[
              [
                '',
                draft
                  ? 'what stands below'
                  : guessed === saved
                    ? 'how it is read now'
                    : 'a guess from the message',
              ],
              ...shapes.map((shape, i) => [String(i), shape.name] as const),
              ['saved', 'how it is read now'],
              ...(guess === null ? [] : ([['guess', 'a guess from the message']] as const)),
            ]}
            onValue={(next) => {
              const shape = shapes[Number(next)];
              if (next === 'saved') setDraft(draftOf(saved));
              else if (next === 'guess' && guess) setDraft(draftOf(guess));
              else if (next !== '' && shape) {
                setDraft(draftOf(shape.profile));
                // Without a message of its own, the shape's example shows what it does.
                if (!message && (text.trim() === '' || shapes.some(({ example }) => example === text)))
                  setText(shape.example);
              }
            }}
          />
        </div>
        <ProfileForm draft={shown} document={document} onChange={setDraft} />
      </section>
      <section aria-labelledby="bench-outcome" class="bench-outcome">
        <h2 id="bench-outcome">What that makes of it</h2>
        {trouble && <p class="urgent">{trouble}</p>}
        {outcome && <Outcome outcome={outcome} timeZone={timeZone} />}
        {!outcome && !trouble && (
          <p class="quiet">{tried ? 'Trying …' : 'Choose a message, or paste one.'}</p>
        )}
        <p role="alert" class="trouble">
          {sending.trouble}
        </p>
        <p role="status">{said}</p>
        <div class="submit-row">
          <button
            type="submit"
            class={isSaved ? 'button quiet' : 'button'}
            disabled={sending.busy || isSaved}
          >
            {isSaved ? `${name} is read like this` : `Read ${name} like this from now on`}
          </button>
          <button
            type="button"
            class={isSaved && waiting > 0 ? 'button' : 'button quiet'}
            disabled={sending.busy || !isSaved || waiting === 0}
            onClick={() => void sending.send(replay)}
          >
            Read again what was set aside ({waiting})
          </button>
          <a class="button quiet" href="/sensors">
            To the sensors
          </a>
        </div>
      </section>
    </SendForm>
  );
}

export function BenchPage() {
  const { query } = useRoute();
  const { answer, error } = useLive('gateways', {});
  const gateways = answer.value;
  return (
    <Page title="Decode bench">
      <h1>How messages are read</h1>
      <p class="lead">
        Any message can be made readable: say where in it each value stands. What was set aside before is kept
        and read again.
      </p>
      {!gateways ? (
        <Waiting error={error.value} what="the gateways" />
      ) : gateways.length === 0 ? (
        <>
          <p>There is no gateway yet.</p>
          <GatewayHelp />
        </>
      ) : (
        <Bench gateways={gateways} asked={query.gateway ?? ''} reason={query.reason} />
      )}
    </Page>
  );
}
