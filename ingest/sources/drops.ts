/**
 * What a broker elsewhere says of itself under $SYS: how many messages it has dropped because a queue was full, since
 * when it runs, and, where its log goes there too, whose connections end each other. Nobody else would tell: whoever
 * published was answered long before. Heard over a connection of its own with a clean session, so that it neither
 * fills the collector's queue nor waits behind it.
 *
 * The topics are mosquitto's (mosquitto(8), "Broker status"); a broker without them is as good as one that says nothing.
 */
import mqtt from 'mqtt';
import type { RefusalReason } from '../gateways.ts';
import { type Log, silent } from '../log.ts';
import type { Pipeline } from '../pipeline.ts';
import type { Memory } from './memory.ts';
import { connectOptions, type OutsideBroker } from './outside-broker.ts';
import { createRepeats, takeovers } from './repeats.ts';
import { printable } from './sessions.ts';
import { watchStarts } from './starts.ts';

export interface DropWatch {
  /** Messages dropped since the broker's start; null: it does not say. */
  dropped(): number | null;
  stop(): Promise<void>;
}

export interface DropParts {
  readonly pipeline: Pick<Pipeline, 'refuse'>;
  readonly memory: Memory;
  readonly log?: Log;
  readonly now?: () => number;
}

const droppedTopic = '$SYS/broker/publish/messages/dropped';
const uptimeTopic = '$SYS/broker/uptime';
/** Its log, as far as it calls it an error (`log_dest topic`, `connection_messages true`); so written by mosquitto 2.0.11. */
const logTopic = '$SYS/broker/log/E';
const takenOver = /Client (.+) already connected, closing old connection\.$/;
const reconnectMs = 5_000;
const noPayload = new Uint8Array();

export function watchDrops(
  outside: OutsideBroker,
  { pipeline, memory, log = silent, now = Date.now }: DropParts,
): DropWatch {
  const { host } = new URL(outside.url);
  const dropsName = `dropped by ${host}`;
  let dropped: number | null = null;
  let working = Promise.resolve();
  /** One after the other: two counts at once would both be compared with the one before. */
  const inTurn = (work: () => Promise<void>): void => {
    working = working
      .then(work)
      .catch((error) => log.warn({ err: error, host }, 'what the broker says of itself was not kept'));
  };

  async function tell(reason: RefusalReason, sentence: string): Promise<void> {
    log.warn({ host, reason }, sentence);
    await pipeline.refuse({
      ...{ organisation: null, gateway: null, receivedMs: now(), topic: `mqtt broker ${host}` },
      ...{ reason, sentence, payload: noPayload },
    });
  }

  async function counted(count: number): Promise<void> {
    dropped = count;
    const before = await memory.recall(dropsName);
    if (count === before) return;
    // What was dropped before we first came was nobody's of ours. A smaller count is that of a broker started again.
    const more = before === null ? 0 : count < before ? count : count - before;
    if (more > 0) {
      await tell(
        'possible-gap',
        `The broker at ${host} has dropped ${more} messages, because a queue was full: readings may be missing. Look why nobody collected them, or let it queue more (max_queued_messages).`,
      );
    }
    await memory.keep(dropsName, count);
  }

  const ticks = (): number => performance.now();
  const starts = watchStarts({
    ...{ host, memory, now, ticks },
    again: (startedMs) =>
      tell(
        'possible-gap',
        `The broker at ${host} was started again at ${new Date(startedMs).toISOString()}. If it had not been stopped in order, what it took in its last seconds before (autosave_interval) may be missing.`,
      ),
  });

  const fights = createRepeats(takeovers, ticks);
  async function logged(line: string): Promise<void> {
    const [, clientId] = takenOver.exec(line) ?? [];
    if (clientId === undefined || !fights.again(clientId)) return;
    await tell(
      'shared-client-id',
      `At the broker at ${host}, connections under the client id ${printable(clientId)} end each other: as a rule two devices share it. Give each its own.`,
    );
  }

  const client = mqtt.connect(outside.url, {
    ...connectOptions(outside),
    clientId: `${outside.clientId}-drops`,
    clean: true,
    reconnectPeriod: reconnectMs,
  });
  client.on('connect', () => {
    inTurn(async () => starts.connected());
    client.subscribe([droppedTopic, uptimeTopic, logTopic]);
  });
  client.on('error', (error) =>
    log.debug({ err: error, host }, 'what the broker says of itself cannot be heard'),
  );
  client.on('message', (topic, payload, { retain }) => {
    const text = payload.toString('utf8').slice(0, 400);
    if (topic === logTopic) return inTurn(() => logged(text));
    const [, digits] = /^(\d+)(?: seconds)?$/.exec(text) ?? [];
    if (digits === undefined) return;
    if (topic === droppedTopic) inTurn(() => counted(Number(digits)));
    else {
      const atTick = ticks();
      inTurn(() => starts.heard(Number(digits), retain, atTick));
    }
  });

  return {
    dropped: () => dropped,
    async stop() {
      await client.endAsync(true);
      inTurn(starts.stop);
      await working;
    },
  };
}
