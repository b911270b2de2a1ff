/**
 * The embedded broker: MQTT 3.1.1, publish only. Nothing is routed, retained, willed or kept for later: it takes
 * readings and acknowledges them after the commit. The hazards of aedes that shape it: an exception in a hook kills the
 * process; packets have no size limit; whoever is connected may hold a place for ever.
 */
import type { EventEmitter } from 'node:events';
import { Aedes, type Client } from 'aedes';
import type { Gateways } from '../gateways.ts';
import { type Log, silent } from '../log.ts';
import type { Pipeline } from '../pipeline.ts';
import { createAdmission } from './admission.ts';
import { type Arrival, type Certificates, type Door, openDoor } from './doors.ts';
import { createIntake } from './intake.ts';
import { type Cut, PacketGuard } from './packet-guard.ts';
import { createSessions } from './sessions.ts';

export interface BrokerOptions {
  /** Where the plain port listens. */
  readonly host: string;
  /** 0: any free port. */
  readonly port: number;
  /** More ways in. */
  readonly doors?: Doors | undefined;
  readonly gateways: Pick<Gateways, 'byPassword' | 'byName'>;
  readonly pipeline: Pipeline;
  readonly log?: Log;
  readonly now?: () => number;
}

/** Encrypted ways in listen on `host` of their own, so that the plain port may be kept to this machine. */
export interface Doors {
  readonly host: string;
  readonly certificates: Certificates | null;
  readonly tlsPort: number | null;
  /** Encrypted where there are certificates, else beside the plain port. */
  readonly websocketPort: number | null;
}

export interface Broker {
  readonly port: number;
  readonly tlsPort: number | null;
  readonly websocketPort: number | null;
  /** Connected now. */
  clients(): number;
  stop(): Promise<void>;
}

const limits = { packetBytes: 1_000_000, connectBytes: 16_384 };
const connectTimeoutMs = 10_000;
/** QoS 2 messages of one client that wait for their PUBREL. */
const mostHalfDone = 1_000;

/** @throws DoorFault with one sentence when a port cannot be had */
export async function startBroker(options: BrokerOptions): Promise<Broker> {
  const { host, port, doors, gateways, pipeline, log = silent, now = Date.now } = options;
  const sessions = createSessions(pipeline, log, now);
  const guards = new Set<PacketGuard>();

  function lose(client: Client, error: unknown): void {
    log.error({ err: error }, 'a connection was dropped after a fault in the broker');
    client.conn.destroy();
  }

  function onAdmitted(client: Client): void {
    const session = sessions.of(client);
    if (!session) return;
    session.admitted();
    session.guard.admit();
  }

  const aedes = await Aedes.createBroker({
    ...createAdmission({ sessions, gateways, log, onAdmitted, lose }),
    ...createIntake({ sessions, pipeline, gateways, now, lose }),
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

  function welcome({ stream, address, admitted }: Arrival): void {
    const onCut = (cut: Cut, bytes: number): void => {
      sessions.drop(session);
      if (cut === 'not-mqtt') {
        log.debug({ address }, 'a connection was cut: not MQTT');
        return;
      }
      const most = session.gateway ? limits.packetBytes : limits.connectBytes;
      sessions.note(session, 'too-large', `A packet of ${bytes} bytes was cut; ${most} are taken.`);
    };
    const guard = new PacketGuard(stream, limits, onCut);
    guards.add(guard);
    guard.on('close', () => guards.delete(guard));
    const client = aedes.handle(guard);
    const session = sessions.begin(client, { guard, address, admitted });
    guardParser(client, (error) => {
      sessions.drop(session);
      lose(client, error);
    });
  }

  const open: Door[] = [];
  async function stop(): Promise<void> {
    const closed = open.map((door) => door.stop());
    await new Promise<void>((resolve) => aedes.close(resolve));
    for (const guard of guards) guard.cutOff();
    await Promise.all(closed);
  }

  async function openAll(): Promise<Omit<Broker, 'clients' | 'stop'>> {
    async function door(place: Parameters<typeof openDoor>[0]): Promise<number> {
      const opened = await openDoor(place, welcome, log);
      open.push(opened);
      return opened.port;
    }
    const plain = await door({ kind: 'plain', host, port });
    if (!doors) return { port: plain, tlsPort: null, websocketPort: null };
    const { certificates, tlsPort, websocketPort } = doors;
    const safely = certificates ? { host: doors.host, certificates } : { host };
    return {
      port: plain,
      tlsPort: tlsPort === null ? null : await door({ kind: 'tls', ...safely, port: tlsPort }),
      websocketPort:
        websocketPort === null ? null : await door({ kind: 'websocket', ...safely, port: websocketPort }),
    };
  }

  const ports = await openAll().catch(async (error) => {
    await stop();
    throw error;
  });
  return { ...ports, clients: () => aedes.connectedClients, stop };
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
