/**
 * What a broker elsewhere says of itself under $SYS: how many messages it has dropped because a queue was full, and
 * since when it runs. Nobody else would tell: whoever published was answered long before. Heard over a connection of
 * its own with a clean session, so that it neither fills the collector's queue nor waits behind it.
 *
 * The topics are mosquitto's (mosquitto(8), "Broker status"); a broker without them is as good as one that says nothing.
 */
import mqtt from 'mqtt';
import { type Log, silent } from '../log.ts';
import type { Pipeline } from '../pipeline.ts';
import type { Memory } from './memory.ts';
import { connectOptions, type OutsideBroker } from './outside-broker.ts';

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
/** Uptime comes in whole seconds, some seconds old. */
const startDiffersMs = 60_000;
const reconnectMs = 5_000;
const noPayload = new Uint8Array();

export function watchDrops(
  outside: OutsideBroker,
  { pipeline, memory, log = silent, now = Date.now }: DropParts,
): DropWatch {
  const { host } = new URL(outside.url);
  const [dropsName, startName] = [`dropped by ${host}`, `start of ${host}`];
  let dropped: number | null = null;
  let working = Promise.resolve();
  /** One after the other: two counts at once would both be compared with the one before. */
  const inTurn = (work: () => Promise<void>): void => {
    working = working
      .then(work)
      .catch((error) => log.warn({ err: error, host }, 'what the broker says of itself was not kept'));
  };

  async function tell(sentence: string): Promise<void> {
    log.warn({ host, reason: 'possible-gap' }, sentence);
    await pipeline.refuse({
      ...{ organisation: null, gateway: null, receivedMs: now(), topic: `mqtt broker ${host}` },
      ...{ reason: 'possible-gap', sentence, payload: noPayload },
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
        `The broker at ${host} has dropped ${more} messages, because a queue was full: readings may be missing. Look why nobody collected them, or let it queue more (max_queued_messages).`,
      );
    }
    await memory.keep(dropsName, count);
  }

  async function started(atMs: number): Promise<void> {
    const before = await memory.recall(startName);
    if (before !== null && Math.abs(atMs - before) < startDiffersMs) return;
    if (before !== null && atMs > before) {
      await tell(
        `The broker at ${host} was started again at ${new Date(atMs).toISOString()}. If it had not been stopped in order, what it took in its last seconds before (autosave_interval) may be missing.`,
      );
    }
    await memory.keep(startName, atMs);
  }

  const client = mqtt.connect(outside.url, {
    ...connectOptions(outside),
    clientId: `${outside.clientId}-drops`,
    clean: true,
    reconnectPeriod: reconnectMs,
  });
  client.on('connect', () => client.subscribe([droppedTopic, uptimeTopic]));
  client.on('error', (error) =>
    log.debug({ err: error, host }, 'what the broker says of itself cannot be heard'),
  );
  client.on('message', (topic, payload) => {
    const [, digits] = /^(\d+)(?: seconds)?$/.exec(payload.toString('utf8').slice(0, 40)) ?? [];
    if (digits === undefined) return;
    const heardMs = now();
    if (topic === droppedTopic) inTurn(() => counted(Number(digits)));
    else inTurn(() => started(heardMs - Number(digits) * 1_000));
  });

  return {
    dropped: () => dropped,
    async stop() {
      await client.endAsync(true);
      await working;
    },
  };
}
