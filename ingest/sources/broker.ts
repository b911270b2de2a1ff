/**
 * The embedded broker: MQTT 3.1.1, publish only. A message is acknowledged after its readings are committed.
 *
 * aedes writes a PUBACK (and, for QoS 2, a PUBREC) when `authorizePublish` calls back, so that is where messages are
 * stored. The hazards that shape this file: an exception in a hook kills the process; aedes has no packet limit; it
 * routes what clients publish (also to its own $SYS topics), keeps wills, retained messages and sessions. Nothing is
 * routed or kept here: every message leaves `authorizePublish` emptied. QoS 2 works, because identity makes storing
 * the same reading twice harmless.
 */
import type { EventEmitter } from 'node:events';
import { createServer, type Socket } from 'node:net';
import { setTimeout as pause } from 'node:timers/promises';
import { Aedes, type AedesOptions, type AuthenticateError, type Client, type PublishPacket } from 'aedes';
import type { Gateway, Gateways, RefusalReason, SetAside } from '../gateways.ts';
import { type Log, silent } from '../log.ts';
import type { Pipeline } from '../pipeline.ts';
import { PacketGuard } from './packet-guard.ts';
import { createPatience } from './patience.ts';

export interface BrokerOptions {
  readonly host: string;
  /** 0: any free port. */
  readonly port: number;
  readonly gateways: Pick<Gateways, 'byPassword'>;
  readonly pipeline: Pipeline;
  readonly log?: Log;
  readonly now?: () => number;
}

export interface Broker {
  readonly port: number;
  /** Connected now. */
  clients(): number;
  stop(): Promise<void>;
}

const limits = { packetBytes: 1_000_000, connectBytes: 16_384 };
const connectTimeoutMs = 10_000;
const mostConnections = 10_000;
/** Connections that have not said who they are; beyond, the one that has taken longest goes. */
const mostStrangers = 500;

/** CONNACK return codes, MQTT 3.1.1 table 3.1. */
const serverUnavailable = 3;
const badUserOrPassword = 4;

interface Session {
  readonly guard: PacketGuard;
  readonly address: string;
  user: string;
  gateway: Gateway | null;
  /** Counted once, however many of its packets fail together. */
  dropped: boolean;
}

const printable = (text: string): string => text.replace(/[^\x20-\x7e]/g, '?').slice(0, 100);
const keyOf = ({ user, address }: Session): string => JSON.stringify([user.slice(0, 200), address]);
const errorOf = (error: unknown): Error => (error instanceof Error ? error : new Error(String(error)));
const nothing = new Uint8Array();

/** @throws Error with one sentence when the port cannot be had */
export async function startBroker(options: BrokerOptions): Promise<Broker> {
  const { host, port, gateways, pipeline, log = silent, now = Date.now } = options;
  const patience = createPatience(now);
  const sessions = new WeakMap<Client, Session>();
  const guards = new Set<PacketGuard>();
  /** In the order they came. */
  const strangers = new Set<PacketGuard>();

  /** Counts a refusal that carries no reading; its own failure must not become anybody's exception. */
  function note(session: Session, reason: RefusalReason, sentence: string): void {
    const { gateway, user, address } = session;
    const setAside: SetAside = {
      organisation: gateway?.organisation ?? null,
      gateway: gateway?.id ?? null,
      receivedMs: now(),
      topic: `mqtt user ${printable(user)} at ${address}`,
      reason,
      sentence,
      payload: nothing,
    };
    pipeline
      .refuse(setAside)
      .catch((error) => log.error({ err: error, reason }, 'a refusal could not be set aside'));
  }

  function drop(session: Session | undefined): void {
    if (!session || session.dropped) return;
    session.dropped = true;
    patience.dropped(keyOf(session));
  }

  const preConnect: NonNullable<AedesOptions['preConnect']> = (client, packet, done) => {
    const session = sessions.get(client);
    if (!session) return done(new Error('a connection without a guard'), false);
    session.user = packet.username ?? '';
    if (packet.will) {
      delete packet.will;
      note(session, 'will', 'A last will is not kept; the connection goes on without it.');
    }
    if (packet.protocolVersion !== 4) {
      const version = packet.protocolVersion === 3 ? '3.1' : String(packet.protocolVersion);
      note(session, 'other-protocol', `MQTT ${version} is not spoken here; set the client to MQTT 3.1.1.`);
      // aedes would take 3.1; it answers "unacceptable protocol version" to 5.
      packet.protocolVersion = 5;
    }
    // One gateway cannot take over another's connection by choosing its client id.
    if (packet.clientId) packet.clientId = `${session.user}/${packet.clientId}`;
    done(null, true);
  };

  async function admit(
    client: Client,
    user: string | undefined,
    password: Buffer | undefined,
  ): Promise<true | number> {
    const session = sessions.get(client);
    if (!session) return serverUnavailable;
    const waitMs = patience.waitMs(keyOf(session));
    if (waitMs === null) return serverUnavailable;
    if (waitMs > 0) await pause(waitMs);
    if (client.closed) return serverUnavailable;
    const gateway = user && password ? await gateways.byPassword(user, password.toString('utf8')) : null;
    if (!gateway) {
      note(session, 'wrong-password', `The user name ${printable(user ?? '')} or its password is wrong.`);
      return badUserOrPassword;
    }
    session.gateway = gateway;
    return true;
  }

  const authenticate: NonNullable<AedesOptions['authenticate']> = (client, user, password, done) => {
    const refuse = (returnCode: number, message: string): void =>
      done(Object.assign(new Error(message), { returnCode }) as AuthenticateError, false);
    admit(client, user, password)
      .then(
        (answer) => {
          if (answer !== true) return refuse(answer, 'not admitted');
          done(null, true);
          const guard = sessions.get(client)?.guard;
          if (!guard) return;
          strangers.delete(guard);
          guard.admit();
        },
        (error) => {
          log.error({ err: error }, 'a gateway could not be looked up');
          refuse(serverUnavailable, 'the gateways cannot be looked up now');
        },
      )
      .catch((error) => lose(client, error));
  };

  /** For what should never happen: the connection goes, the process stays. */
  function lose(client: Client, error: unknown): void {
    log.error({ err: error }, 'a connection was dropped after a fault in the broker');
    client.conn.destroy();
  }

  async function take(session: Session, packet: PublishPacket): Promise<void> {
    const { gateway } = session;
    if (!gateway) throw new Error('a message before admission');
    const payload = Buffer.isBuffer(packet.payload) ? packet.payload : Buffer.from(packet.payload);
    if (packet.retain) {
      note(session, 'retain', 'The retain flag is ignored; the reading itself is kept.');
    }
    const { topic } = packet;
    const own = `readings/${gateway.name}`;
    if (topic === own || topic.startsWith(`${own}/`)) {
      await pipeline.accept({ gateway, topic, payload, receivedMs: now() });
    } else {
      await pipeline.refuse({
        organisation: gateway.organisation,
        gateway: gateway.id,
        receivedMs: now(),
        topic,
        reason: 'other-topic',
        sentence: `The gateway ${gateway.name} may publish to ${own} and below, not to ${printable(topic)}.`,
        payload,
      });
    }
    patience.settled(keyOf(session));
  }

  const authorizePublish: NonNullable<AedesOptions['authorizePublish']> = (client, packet, done) => {
    const session = client ? sessions.get(client) : undefined;
    if (!client || !session) return done(new Error('nobody published this'));
    take(session, packet)
      .then(
        () => {
          // Only the acknowledgement is left to do.
          packet.topic = 'taken';
          packet.payload = Buffer.alloc(0);
          packet.retain = false;
          done(null);
        },
        (error) => {
          // Not acknowledged: the connection is dropped, so that the client sends again when it is back.
          drop(session);
          done(errorOf(error));
        },
      )
      .catch((error) => lose(client, error));
  };

  const authorizeSubscribe: NonNullable<AedesOptions['authorizeSubscribe']> = (
    client,
    _subscription,
    done,
  ) => {
    const session = sessions.get(client);
    if (session) note(session, 'subscribe', 'Subscribing is not possible here; gateways publish only.');
    done(null, null);
  };

  const aedes = await Aedes.createBroker({
    preConnect,
    authenticate,
    authorizePublish,
    authorizeSubscribe,
    authorizeForward: () => null,
    connectTimeout: connectTimeoutMs,
    maxInflightInbound: 1_000,
  });
  function ended(client: Client, error: Error): void {
    const session = sessions.get(client);
    drop(session);
    log.debug({ address: session?.address, err: error }, 'a connection was dropped');
  }
  aedes.on('clientError', ended);
  aedes.on('connectionError', ended);
  const faults: EventEmitter = aedes;
  faults.on('error', (error) => log.error({ err: error }, 'a fault inside the broker'));

  function welcome(socket: Socket): void {
    socket.setNoDelay(true);
    socket.setKeepAlive(true, 60_000);
    const address = socket.remoteAddress ?? 'unknown';
    const guard = new PacketGuard(socket, limits, (cut, bytes) => {
      drop(session);
      if (cut === 'not-mqtt') return log.debug({ address }, 'not MQTT');
      note(session, 'too-large', `A packet of ${bytes} bytes was cut; ${limits.packetBytes} are taken.`);
    });
    const session: Session = { guard, address, user: '', gateway: null, dropped: false };
    guards.add(guard);
    strangers.add(guard);
    guard.on('close', () => {
      guards.delete(guard);
      strangers.delete(guard);
    });
    if (strangers.size > mostStrangers) strangers.values().next().value?.cutOff();
    const client = aedes.handle(guard);
    sessions.set(client, session);
    guardParser(client, (error) => {
      drop(session);
      lose(client, error);
    });
  }

  const server = createServer((socket) => {
    try {
      welcome(socket);
    } catch (error) {
      log.error({ err: error }, 'a connection could not be taken');
      socket.destroy();
    }
  });
  server.maxConnections = mostConnections;

  const bound = await new Promise<number>((resolve, reject) => {
    server.once('error', (error: NodeJS.ErrnoException) =>
      reject(new Error(portSentence(host, port, error))),
    );
    server.listen(port, host, () => {
      const address = server.address();
      resolve(address !== null && typeof address === 'object' ? address.port : port);
    });
  }).catch(async (error) => {
    await new Promise<void>((resolve) => aedes.close(resolve));
    throw error;
  });
  server.on('error', (error) => log.error({ err: error }, 'the MQTT port has a fault'));

  return {
    port: bound,
    clients: () => aedes.connectedClients,
    async stop() {
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      await new Promise<void>((resolve) => aedes.close(resolve));
      for (const guard of guards) guard.cutOff();
      await closed;
    },
  };
}

function portSentence(host: string, port: number, error: NodeJS.ErrnoException): string {
  if (error.code === 'EADDRINUSE') return `The MQTT port ${port} on ${host} is in use by another program.`;
  if (error.code === 'EACCES') return `The MQTT port ${port} on ${host} may not be opened by this user.`;
  return `The MQTT port ${port} on ${host} cannot be opened: ${error.message}.`;
}

/** aedes parses and dispatches inside an event of the stream, where an exception would end the process. */
function guardParser(client: Client, onFault: (error: unknown) => void): void {
  const parser: unknown = Reflect.get(client, '_parser');
  if (typeof parser !== 'object' || parser === null) throw new Error('this aedes has no parser to guard');
  const parse: unknown = Reflect.get(parser, 'parse');
  if (typeof parse !== 'function') throw new Error('this aedes has no parser to guard');
  Reflect.set(parser, 'parse', (bytes: Buffer): number => {
    try {
      return Number(Reflect.apply(parse, parser, [bytes]));
    } catch (error) {
      onFault(error);
      return 0;
    }
  });
}
