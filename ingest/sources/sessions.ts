/** What is known of each MQTT connection, and what is held against it. */
import type { Client } from 'aedes';
import type { Gateway, RefusalReason } from '../gateways.ts';
import type { Log } from '../log.ts';
import type { Pipeline } from '../pipeline.ts';
import type { PacketGuard } from './packet-guard.ts';
import { createPatience } from './patience.ts';
import { createRepeats, takeovers } from './repeats.ts';

export interface Session {
  readonly guard: PacketGuard;
  readonly address: string;
  /** Tells the door that it keeps its place. */
  readonly admitted: () => void;
  /** As given in CONNECT, whether or not it is true. */
  user: string;
  /** Set once the password was right. */
  gateway: Gateway | null;
  /** When it was let in, by `performance.now`. */
  admittedMs: number;
  /** Counted once, however many of its packets fail together. */
  dropped: boolean;
}

export interface Sessions {
  begin(client: Client, comes: Pick<Session, 'guard' | 'address' | 'admitted'>): Session;
  of(client: Client): Session | undefined;
  /** Its password was right. Where it takes over the client id of another that is still here, again and again, that is told. */
  enter(client: Client, session: Session): void;
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
  // How long ago something was is told by a clock that nobody sets.
  const ticks = (): number => performance.now();
  const patience = createPatience(ticks);
  const sessions = new WeakMap<Client, Session>();
  /** Who is inside, by client id, which begins with the user's name. */
  const inside = new Map<string, Session>();
  const repeats = createRepeats(takeovers, ticks);

  function note({ gateway, user, address }: Session, reason: RefusalReason, sentence: string): void {
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
  }

  return {
    begin(client, comes) {
      const session: Session = { ...comes, user: '', gateway: null, admittedMs: 0, dropped: false };
      sessions.set(client, session);
      return session;
    },
    of: (client) => sessions.get(client),
    enter({ id }, session) {
      const before = inside.get(id);
      inside.set(id, session);
      session.guard.once('close', () => {
        if (inside.get(id) === session) inside.delete(id);
      });
      if (!before || before.guard.destroyed || !repeats.again(id)) return;
      const own = printable(id.slice(session.user.length + 1));
      note(
        session,
        'shared-client-id',
        `Connections of the gateway ${printable(session.user)} under the client id ${own} end each other (from ${before.address} and ${session.address}): as a rule two devices share it. Give each its own.`,
      );
    },
    note,
    drop(session) {
      if (!session || session.dropped) return;
      session.dropped = true;
      patience.dropped(keyOf(session));
    },
    settle: (session) => patience.settled(keyOf(session)),
    waitMs: (session) => patience.waitMs(keyOf(session)),
  };
}
