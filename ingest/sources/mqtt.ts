/**
 * Collects from an outside broker, MQTT 5 or 3.1.1. The session is kept by the broker under a stable client id, so what
 * comes while nobody is connected waits there. A message is acknowledged after it is stored or set aside; where the
 * store fails the connection is dropped, and the broker delivers again.
 *
 * The `mqtt` client hands over one message at a time and would acknowledge it when called back. Waiting there would
 * cost a commit per message, so it is called back at once with an error, which makes it withhold its PUBACK, and ours
 * is written after the commit.
 */
import { setTimeout as pause } from 'node:timers/promises';
import mqtt, { type IClientOptions, type MqttClient } from 'mqtt';
import mqttPacket from 'mqtt-packet';
import type { Gateways, RefusalReason } from '../gateways.ts';
import { type Log, silent } from '../log.ts';
import type { Pipeline } from '../pipeline.ts';
import { createDelivery, type Delivery } from './delivery.ts';
import { watchGaps } from './gaps.ts';
import { knownGateways } from './known-gateways.ts';
import type { Memory } from './memory.ts';
import { connectOptions, type OutsideBroker } from './outside-broker.ts';
import { createRepeats, takeovers } from './repeats.ts';
import { printable } from './sessions.ts';
import { subscriptionTo } from './subscription.ts';

export interface Subscriber {
  connected(): boolean;
  /** Times the broker had forgotten our session, since the start. */
  possibleGaps(): number;
  /** Acknowledges what is under way, then goes; the session stays with the broker. */
  stop(): Promise<void>;
}

export interface SubscriberParts {
  readonly gateways: Pick<Gateways, 'byName'>;
  readonly pipeline: Pipeline;
  /** Absent: a gap across a restart of ours cannot be told from a first connection. */
  readonly memory?: Memory;
  readonly log?: Log;
  readonly now?: () => number;
}

/** How long ago something was is told by a clock that nobody sets. */
const ticks = (): number => performance.now();
/** A week, in seconds. */
const sessionExpiryS = 7 * 24 * 3_600;
/** Messages handed over and not yet stored; beyond, the next has to wait. */
const mostWaiting = 2_000;
/** Told to an MQTT 5 broker. Not every broker keeps to it, so `mostWaiting` stands behind it. */
const receiveMaximum = 1_000;
const longestFarewellMs = 1_000;
const firstPauseMs = 1_000;
const longestPauseMs = 30_000;
/** A connection that ends within a minute ends early. */
const earlyMs = 60_000;
const noPayload = new Uint8Array();

export function startSubscriber(
  outside: OutsideBroker,
  { gateways, pipeline, memory, log = silent, now = Date.now }: SubscriberParts,
): Subscriber {
  const { clientId, protocolVersion, group } = outside;
  const { filter, options: wish } = subscriptionTo(outside.topic, group, protocolVersion);
  const byName = knownGateways(gateways, ticks);

  let delivery: Delivery | undefined;
  let waiting = 0;
  /** Of the message that has to wait. */
  let held: (() => void) | undefined;
  let idle: (() => void) | undefined;
  let pauseMs = firstPauseMs;
  let stopping = false;
  /** A message of this connection failed: it takes no more, and is dropped when the others have their answers. */
  let failing = false;
  let connectedAt = 0;
  const earlyEnds = createRepeats(takeovers, ticks);

  const options: IClientOptions = {
    ...connectOptions(outside),
    clean: false,
    reconnectPeriod: firstPauseMs,
    reconnectOnConnackError: true,
    ...(protocolVersion === 5
      ? { properties: { sessionExpiryInterval: sessionExpiryS, receiveMaximum } }
      : {}),
  };
  const client: MqttClient = mqtt.connect(outside.url, options);

  const gaps = watchGaps({
    ...{ clientId, memory, now, tell, log },
    name: `${clientId} at ${new URL(outside.url).host}`,
  });

  /** The next attempt comes after a pause that grows until a message has been stored again. */
  function drop(): void {
    if (stopping) return;
    client.options.reconnectPeriod = pauseMs;
    pauseMs = Math.min(longestPauseMs, pauseMs * 2);
    delivery = undefined;
    failing = false;
    client.stream.destroy();
  }

  function tell(reason: RefusalReason, sentence: string): void {
    log.warn({ clientId, reason }, sentence);
    pipeline
      .refuse({
        organisation: null,
        gateway: null,
        receivedMs: now(),
        topic: `mqtt client ${printable(clientId)}`,
        reason,
        sentence,
        payload: noPayload,
      })
      .catch((error) => log.error({ err: error, reason }, 'a notice of the broker could not be kept'));
  }

  /** Resolves when the message may be acknowledged. */
  async function take(topic: string, payload: Uint8Array, retained: boolean): Promise<void> {
    const receivedMs = now();
    const [, named = ''] = /^readings\/([^/]+)(?:\/|$)/.exec(topic) ?? [];
    const name = outside.gateway ?? named;
    const gateway = name ? await byName(name) : null;
    const refuse = (reason: RefusalReason, sentence: string): Promise<void> =>
      pipeline.refuse({
        organisation: gateway?.organisation ?? null,
        gateway: gateway?.id ?? null,
        ...{ receivedMs, topic, reason, sentence, payload },
      });
    if (!gateway) {
      const sentence = name
        ? `There is no gateway ${printable(name)}; add it, and what comes from then on is taken.`
        : `The topic ${printable(topic)} names no gateway; readings/{gateway} and below do, or BROKER_GATEWAY for all of the broker.`;
      return refuse('unknown-gateway', sentence);
    }
    // What a broker keeps comes again with each subscription, and would pass for a reading of now.
    if (retained)
      return refuse('retain', 'A message the broker had retained is not a new reading; it is left out.');
    await pipeline.accept({ gateway, topic, payload, receivedMs });
  }

  function settled(): void {
    waiting -= 1;
    if (waiting < mostWaiting / 2) {
      held?.();
      held = undefined;
    }
    if (waiting > 0) return;
    idle?.();
    // After the acknowledgements of the last commit.
    if (failing) setImmediate(drop);
  }

  client.handleMessage = (packet, done) => {
    if (failing) return;
    if (stopping) return done(new Error('not taken any more'));
    const from = delivery;
    const withheld = new Error('acknowledged after the commit');
    const { qos, messageId = 0, topic } = packet;
    const acknowledge = qos > 0 ? from?.expect(messageId) : undefined;
    const payload = Buffer.isBuffer(packet.payload) ? packet.payload : Buffer.from(packet.payload);
    waiting += 1;
    take(topic, payload, packet.retain)
      .then(
        () => {
          acknowledge?.(true);
          pauseMs = firstPauseMs;
        },
        (error) => {
          log.error(
            { err: error, clientId },
            'a message could not be stored; the broker will deliver it again',
          );
          acknowledge?.(false);
          if (from !== undefined && from === delivery) failing = true;
        },
      )
      .finally(settled);
    if (waiting < mostWaiting) done(withheld);
    else held = () => done(withheld);
  };

  client.on('connect', ({ sessionPresent }) => {
    const { stream } = client;
    delivery = createDelivery(stream, protocolVersion, () => client.stream === stream && client.connected);
    client.options.reconnectPeriod = firstPauseMs;
    log.info({ clientId, sessionPresent }, 'connected to the broker');
    gaps.connected(sessionPresent);
    connectedAt = ticks();
    client.subscribe(filter, wish, (error) => {
      // Where the connection has gone meanwhile, the next one subscribes.
      if (stopping || stream.destroyed) return;
      if (!error) {
        log.info({ clientId, topic: filter }, 'collecting from the broker');
        return;
      }
      log.error({ err: error, topic: filter }, 'the broker refused the subscription');
      drop();
    });
  });

  /** Not every broker says that somebody else took the session over; that it ends again and again, it cannot hide. */
  function endedEarly(): void {
    if (!earlyEnds.again(clientId)) return;
    tell(
      'shared-client-id',
      `The broker ended the connection of ${printable(clientId)} ${takeovers.times} times soon after its beginning; as a rule somebody else connects under the same client id.`,
    );
  }

  client.on('close', () => {
    failing = false;
    // Undefined where the connection was ours to drop, or never came about.
    if (delivery === undefined) return;
    delivery = undefined;
    if (!stopping && ticks() - connectedAt < earlyMs) endedEarly();
    gaps.ended();
  });

  client.on('error', (error) => {
    log.warn({ err: error, clientId }, 'the connection to the broker has a fault');
    // A refused CONNECT, or bytes that are not MQTT: neither is better at once.
    if (!('syscall' in error)) drop();
  });

  return {
    connected: () => client.connected,
    possibleGaps: gaps.count,
    async stop() {
      stopping = true;
      if (waiting > 0) {
        await new Promise<void>((resolve) => {
          idle = resolve;
        });
      }
      // Acknowledgements of the last commit are written by then.
      await new Promise((resolve) => setImmediate(resolve));
      held?.();
      // Not the client's own polite end: it waits for answers that a lost connection will never give. The broker
      // closes when it has read the DISCONNECT, and with it the acknowledgements before.
      if (client.connected) {
        const { stream } = client;
        const farewell = mqttPacket.generate({ cmd: 'disconnect', reasonCode: 0 }, { protocolVersion });
        const closed = new Promise<void>((resolve) => stream.once('close', () => resolve()));
        stream.write(farewell);
        await Promise.race([closed, pause(longestFarewellMs, undefined, { ref: false })]);
      }
      await client.endAsync(true);
      await gaps.stop();
    },
  };
}
