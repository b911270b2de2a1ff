/** What is known of each MQTT connection, and what is held against it. */
import type { Client } from 'aedes';
import type { Gateway, RefusalReason } from '../gateways.ts';
import type { Log } from '../log.ts';
import type { Pipeline } from '../pipeline.ts';
import type { PacketGuard } from './packet-guard.ts';
import { createPatience } from './patience.ts';

export interface Session {
  readonly guard: PacketGuard;
  readonly address: string;
  /** As given in CONNECT, whether or not it is true. */
  user: string;
  /** Set once the password was right. */
  gateway: Gateway | null;
  /** Counted once, however many of its packets fail together. */
  dropped: boolean;
}

export interface Sessions {
  begin(client: Client, guard: PacketGuard, address: string): Session;
  of(client: Client): Session | undefined;
  /** Counts a refusal that carries no reading. Its own failure must not become anybody's exception. */
  note(session: Session, reason: RefusalReason, sentence: string): void;
  /** It was dropped, so it will be let in more slowly. */
  drop(session: Session | undefined): void;
  /** A message was taken; the past is forgotten. */
  settle(session: Session): void;
  /** How long to let it wait before its password is looked at; null: send it away. */
  waitMs(session: Session): number | null;
}

export const printable = (text: string): string => text.replace(/[^\x20-\x7e]/g, '?').slice(0, 100);
const keyOf = ({ user, address }: Session): string => JSON.stringify([user.slice(0, 200), address]);
const noPayload = new Uint8Array();

export function createSessions(pipeline: Pipeline, log: Log, now: () => number): Sessions {
  const patience = createPatience(now);
  const sessions = new WeakMap<Client, Session>();
  return {
    begin(client, guard, address) {
      const session: Session = { guard, address, user: '', gateway: null, dropped: false };
      sessions.set(client, session);
      return session;
    },
    of: (client) => sessions.get(client),
    note({ gateway, user, address }, reason, sentence) {
      pipeline
        .refuse({
          organisation: gateway?.organisation ?? null,
          gateway: gateway?.id ?? null,
          receivedMs: now(),
          topic: `mqtt user ${printable(user)} at ${address}`,
          reason,
          sentence,
          payload: noPayload,
        })
        .catch((error) => log.error({ err: error, reason }, 'a refusal could not be set aside'));
    },
    drop(session) {
      if (!session || session.dropped) return;
      session.dropped = true;
      patience.dropped(keyOf(session));
    },
    settle: (session) => patience.settled(keyOf(session)),
    waitMs: (session) => patience.waitMs(keyOf(session)),
  };
}
