/**
 * The embedded broker: MQTT 3.1.1, publish only. Nothing is routed, retained, willed or kept for later: it takes
 * readings and acknowledges them after the commit. The hazards of aedes that shape it: an exception in a hook kills the
 * process; packets have no size limit; whoever is connected may hold a place for ever.
 */
import type { EventEmitter } from 'node:events';
import { createServer, type Server, type Socket } from 'node:net';
import { Aedes, type Client } from 'aedes';
import type { Gateways } from '../gateways.ts';
import { type Log, silent } from '../log.ts';
import type { Pipeline } from '../pipeline.ts';
import { createAdmission } from './admission.ts';
import { createIntake } from './intake.ts';
import { type Cut, PacketGuard } from './packet-guard.ts';
import { createSessions } from './sessions.ts';

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
/** QoS 2 messages of one client that wait for their PUBREL. */
const mostHalfDone = 1_000;

/** @throws Error with one sentence when the port cannot be had */
export async function startBroker(options: BrokerOptions): Promise<Broker> {
  const { host, port, gateways, pipeline, log = silent, now = Date.now } = options;
  const sessions = createSessions(pipeline, log, now);
  const guards = new Set<PacketGuard>();
  /** In the order they came. */
  const strangers = new Set<PacketGuard>();

  function lose(client: Client, error: unknown): void {
    log.error({ err: error }, 'a connection was dropped after a fault in the broker');
    client.conn.destroy();
  }

  function onAdmitted(client: Client): void {
    const guard = sessions.of(client)?.guard;
    if (!guard) return;
    strangers.delete(guard);
    guard.admit();
  }

  const aedes = await Aedes.createBroker({
    ...createAdmission({ sessions, gateways, log, onAdmitted, lose }),
    ...createIntake({ sessions, pipeline, now, lose }),
    connectTimeout: connectTimeoutMs,
    maxInflightInbound: mostHalfDone,
  });

  function ended(client: Client, error: Error): void {
    const session = sessions.of(client);
    sessions.drop(session);
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
    const onCut = (cut: Cut, bytes: number): void => {
      sessions.drop(session);
      if (cut === 'not-mqtt') {
        log.debug({ address }, 'a connection was cut: not MQTT');
        return;
      }
      const most = session.gateway ? limits.packetBytes : limits.connectBytes;
      sessions.note(session, 'too-large', `A packet of ${bytes} bytes was cut; ${most} are taken.`);
    };
    const guard = new PacketGuard(socket, limits, onCut);
    guards.add(guard);
    strangers.add(guard);
    guard.on('close', () => {
      guards.delete(guard);
      strangers.delete(guard);
    });
    if (strangers.size > mostStrangers) strangers.values().next().value?.cutOff();
    const client = aedes.handle(guard);
    const session = sessions.begin(client, guard, address);
    guardParser(client, (error) => {
      sessions.drop(session);
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
  const bound = await listenOn(server, host, port).catch(async (error) => {
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

/** The port it got. */
function listenOn(server: Server, host: string, port: number): Promise<number> {
  return new Promise((resolve, reject) => {
    server.once('error', (error: NodeJS.ErrnoException) =>
      reject(new Error(portSentence(host, port, error))),
    );
    server.listen(port, host, () => {
      const address = server.address();
      resolve(address !== null && typeof address === 'object' ? address.port : port);
    });
  });
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
