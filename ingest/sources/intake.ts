/**
 * What an admitted client may do: publish, as a rule to its own topic. aedes writes a PUBACK (and, for QoS 2, a PUBREC)
 * when `authorizePublish` calls back, so this is where messages are stored; it calls back after the commit. There are
 * two outcomes only: stored or set aside, and acknowledged; or not acknowledged, and the connection dropped, so that
 * the client sends again when it is back. QoS 2 works because identity makes storing the same reading twice harmless.
 */
import type { AedesOptions, Client, PublishPacket } from 'aedes';
import type { Gateway, Gateways } from '../gateways.ts';
import type { Pipeline } from '../pipeline.ts';
import { knownGateways } from './known-gateways.ts';
import { printable, type Session, type Sessions } from './sessions.ts';

type Hooks = Required<Pick<AedesOptions, 'authorizePublish' | 'authorizeSubscribe' | 'authorizeForward'>>;

export interface IntakeParts {
  readonly sessions: Sessions;
  readonly pipeline: Pipeline;
  readonly gateways: Pick<Gateways, 'byName'>;
  readonly now: () => number;
  /** For what should never happen: the connection goes, the process stays. */
  readonly lose: (client: Client, error: unknown) => void;
}

/**
 * Its own topic and below. Where a person has said how its messages are read, any that is nobody else's too: many a
 * device publishes to topics of its own choosing, and whose it is its password has told.
 */
function mayPublishTo(topic: string, { name, profile }: Gateway): boolean {
  const own = `readings/${name}`;
  if (topic === own || topic.startsWith(`${own}/`)) return true;
  return profile !== undefined && !/^(?:readings(?:\/|$)|\$)/.test(topic);
}

const errorOf = (error: unknown): Error => (error instanceof Error ? error : new Error(String(error)));

export function createIntake({ sessions, pipeline, gateways, now, lose }: IntakeParts): Hooks {
  const known = knownGateways(gateways, () => performance.now());

  /** A connection lasts for months; its gateway may be read otherwise by now, have other secrets, or be gone. */
  async function asItIsNow(admitted: Gateway, admittedMs: number): Promise<Gateway> {
    // While whoever knows cannot be asked, who was let in stays in. What was known before it came in may be out of date.
    const current = await known(admitted.name, admittedMs).catch(() => admitted);
    if (current?.id === admitted.id && current.secretsMs === admitted.secretsMs) return current;
    // It came in by secrets that are newer than what was last asked.
    if (current && (admitted.secretsMs ?? 0) > (current.secretsMs ?? 0)) return admitted;
    throw new Error(`the gateway ${admitted.name} was taken away, or has other secrets now`);
  }

  /** Resolves when the message may be acknowledged. */
  async function take(session: Session, packet: PublishPacket): Promise<void> {
    if (!session.gateway) throw new Error('a message before admission');
    const gateway = await asItIsNow(session.gateway, session.admittedMs);
    const { topic } = packet;
    const payload = Buffer.isBuffer(packet.payload) ? packet.payload : Buffer.from(packet.payload);
    if (packet.retain) {
      sessions.note(session, 'retain', 'The retain flag is ignored; the reading itself is kept.');
    }
    if (mayPublishTo(topic, gateway)) {
      await pipeline.accept({ gateway, topic, payload, receivedMs: now() });
    } else {
      await pipeline.refuse({
        organisation: gateway.organisation,
        gateway: gateway.id,
        receivedMs: now(),
        topic,
        reason: 'other-topic',
        sentence: `The gateway ${gateway.name} may publish to readings/${gateway.name} and below, not to ${printable(topic)}.`,
        payload,
      });
    }
    sessions.settle(session);
  }

  return {
    authorizePublish(client, packet, done) {
      const session = client ? sessions.of(client) : undefined;
      if (!client || !session) return done(new Error('nobody published this'));
      take(session, packet)
        .then(
          () => {
            // Only the acknowledgement is left to do: aedes would route the message, also to its own $SYS topics,
            // and keep it where it is retained or of QoS 2.
            packet.topic = 'taken';
            packet.payload = Buffer.alloc(0);
            packet.retain = false;
            done(null);
          },
          (error) => done(errorOf(error)),
        )
        .catch((error) => lose(client, error));
    },

    authorizeSubscribe(client, _subscription, done) {
      const session = sessions.of(client);
      if (session) {
        sessions.note(session, 'subscribe', 'Subscribing is not possible here; gateways publish only.');
      }
      // No subscription granted is 128 in the SUBACK.
      done(null, null);
    },

    authorizeForward: () => null,
  };
}
