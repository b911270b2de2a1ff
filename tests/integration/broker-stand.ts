/** A real broker on a free port with a real store in a folder of its own, and clients that speak the protocol. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, rm } from 'node:fs/promises';
import { connect, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import path from 'node:path';
import mqttPacket from 'mqtt-packet';
import {
  type Broker,
  createPipeline,
  type Doors,
  type Gateways,
  openReadings,
  type Pipeline,
  readProfile,
  type SetAside,
  startBroker,
  type TimeSeries,
} from '../../ingest/index.ts';
import { standingAnew } from '../support/standing.ts';

export const organisation = 'conservatory';

/** How the messages of the gateway `odd` are read; all others send SenML. */
const oddProfile = readProfile({
  kind: 'mapped',
  values: [{ at: '/climate/rh', quantity: 'humidityPct' }],
});

/** Every gateway's password is its name backwards. */
export const gateways: Pick<Gateways, 'byPassword' | 'byName'> = {
  async byPassword(name, password) {
    return [...name].reverse().join('') === password ? this.byName(name) : null;
  },
  async byName(name) {
    const gateway = { id: `gateway-${name}`, organisation, name };
    return name === 'odd' ? { ...gateway, profile: oddProfile } : gateway;
  },
};

export interface Stand {
  readonly broker: Broker;
  readonly store: TimeSeries;
  readonly pipeline: Pipeline;
  readonly setAside: SetAside[];
  readonly errors: string[];
  stop(): Promise<void>;
}

/** @param wrap what the pipeline sees of the store, to make it fail. */
export async function startStand(
  wrap = (store: TimeSeries): TimeSeries => store,
  doors?: Doors,
): Promise<Stand> {
  const folder = await mkdtemp(path.join(tmpdir(), 'crownwatch-broker-'));
  const store = openReadings(path.join(folder, 'readings.db'));
  const setAside: SetAside[] = [];
  const errors: string[] = [];
  const log = {
    debug() {},
    info() {},
    warn() {},
    error: (_: object, message: string) => errors.push(message),
  };
  const pipeline = createPipeline({
    store: wrap(store),
    refused: {
      async setAside(batch) {
        setAside.push(...batch);
      },
    },
    log,
  });
  const broker = await startBroker({ host: '127.0.0.1', port: 0, doors, gateways, pipeline, log });
  return {
    broker,
    store,
    pipeline,
    setAside,
    errors,
    async stop() {
      await broker.stop();
      await pipeline.stop();
      await store.stop();
      await rm(folder, { recursive: true, force: true });
    },
  };
}

export interface Spoken {
  readonly code: number;
  readonly output: string;
}

/** Debian's mosquitto_pub, a real process, as the gateway `attic` unless told otherwise. */
export async function mosquittoPub(
  port: number,
  args: readonly string[],
  input?: string | Buffer,
): Promise<Spoken> {
  const who = args.includes('-u') ? [] : ['-u', 'attic', '-P', 'citta'];
  const child = spawn('mosquitto_pub', ['-h', '127.0.0.1', '-p', String(port), ...who, ...args]);
  let output = '';
  for (const stream of [child.stdout, child.stderr]) {
    stream.on('data', (chunk) => {
      output += chunk;
    });
  }
  // It closes its end as soon as it is refused.
  child.stdin.on('error', () => {});
  child.stdin.end(input);
  const [code] = await once(child, 'close');
  return { code, output };
}

export interface Wire {
  readonly socket: Socket;
  readonly received: mqttPacket.Packet[];
  send(packet: mqttPacket.Packet): void;
  /** Resolves when a packet of this kind has come; rejects when the connection closes before. */
  next(cmd: mqttPacket.PacketCmd): Promise<mqttPacket.Packet>;
  closed: Promise<unknown>;
}

/** A client without manners: it sends what it is told. */
export async function openWire(port: number): Promise<Wire> {
  const socket = connect(port, '127.0.0.1');
  const received: mqttPacket.Packet[] = [];
  const parser = mqttPacket.parser();
  let look = (): void => {};
  parser.on('packet', (packet: mqttPacket.Packet) => {
    received.push(packet);
    look();
  });
  socket.on('data', (chunk) => parser.parse(chunk));
  socket.on('error', () => {});
  const closed = new Promise((resolve) => socket.once('close', resolve));
  await once(socket, 'connect');
  let seen = 0;
  return {
    socket,
    received,
    closed,
    send: (packet) => {
      socket.write(mqttPacket.generate(packet));
    },
    next: (cmd) =>
      new Promise((resolve, reject) => {
        look = () => {
          for (; seen < received.length; seen += 1) {
            const packet = received[seen];
            if (packet?.cmd !== cmd) continue;
            seen += 1;
            look = () => {};
            return resolve(packet);
          }
        };
        closed.then(() => reject(new Error(`closed before ${cmd}`)));
        look();
      }),
  };
}

export const connectAs = (
  name: string,
  more: Partial<mqttPacket.IConnectPacket> = {},
): mqttPacket.IConnectPacket => ({
  cmd: 'connect',
  protocolId: 'MQTT',
  protocolVersion: 4,
  clean: true,
  clientId: 'one',
  keepalive: 60,
  username: name,
  password: Buffer.from([...name].reverse().join('')),
  ...more,
});

export const publish = (
  topic: string,
  payload: unknown,
  more: Partial<mqttPacket.IPublishPacket> = {},
): mqttPacket.IPublishPacket => ({
  cmd: 'publish',
  topic,
  payload: typeof payload === 'string' ? payload : JSON.stringify(payload),
  qos: 1,
  messageId: 1,
  dup: false,
  retain: false,
  ...more,
});

/** Waits for a condition that real processes bring about. */
export async function until(condition: () => boolean | Promise<boolean>): Promise<void> {
  while (!(await condition())) await new Promise((resolve) => setImmediate(resolve));
}

export const timeMs = Date.UTC(2026, 0, 15, 12);
/** A SenML pack of one humidity. */
export const pack = (v: number, sensor = 'urn:dev:mac:02a1', atMs = timeMs): object[] => [
  { n: sensor, u: '%RH', v, t: atMs / 1000 },
];

export interface TestedStand extends Stand {
  /** What is on the shelf of a sensor, in the order of time. */
  humidityOf(sensor: string): Promise<readonly (number | null)[]>;
}

/** A stand for each test of the file. */
export const standForEach = (): TestedStand =>
  standingAnew(async (undo) => {
    const stand = await startStand();
    undo(stand.stop);
    const humidityOf = async (sensor: string) =>
      (await stand.store.read({ organisation, sensor }, 0, 9e12)).humidityPct;
    return { ...stand, humidityOf };
  });
