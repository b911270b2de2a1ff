/**
 * The simulated gateway, a process of its own: sends what the demo's sensors say now over MQTT, QoS 1, as packs of
 * several sensors. First it sends what has been missed since it last ran, as a gateway with a memory does.
 *
 * Reads DATA_DIR, MQTT_HOST and MQTT_PORT; ends on SIGTERM, SIGINT, or when the process that started it is gone.
 */
import { connect, type MqttClient } from 'mqtt';
import type { Reading } from '../ingest/index.ts';
import { stepMs } from './clock.ts';
import { type Live, live } from './live.ts';
import { pack } from './senml.ts';
import { world } from './world.ts';
import { type GatewayFile, readGateway, readWorld, writeGateway } from './world-file.ts';

/** Some sensors send every few seconds, each of them once a minute. */
const beatMs = 5_000;
const beats = 12;
/** Readings in one pack when catching up. */
const packSize = 200;

function client(file: GatewayFile, host: string, port: number): MqttClient {
  const made = connect({
    host,
    port,
    protocol: 'mqtt',
    protocolVersion: 4,
    username: file.user,
    password: file.password,
    clientId: 'demo',
    reconnectPeriod: 2_000,
    reconnectOnConnackError: true,
  });
  let complained = false;
  made.on('connect', () => {
    complained = false;
  });
  made.on('error', (error) => {
    // The client tries again by itself; one line for each interruption is enough.
    if (!complained) process.stderr.write(`The demo's gateway is not connected: ${error.message}\n`);
    complained = true;
  });
  return made;
}

/** Sends the readings on the usual steps since the last run. */
async function catchUp(
  feed: Live,
  fromMs: number,
  untilMs: number,
  send: (said: readonly Reading[]) => Promise<void>,
) {
  if (untilMs - fromMs < stepMs) return;
  for (const batch of feed.missed('', fromMs, untilMs)) {
    for (let from = 0; from < batch.length; from += packSize) await send(batch.slice(from, from + packSize));
  }
}

/** What the sensors whose turn it is say now. */
function turn(feed: Live, beat: number, timeMs: number): Reading[] {
  return feed.urns.flatMap((sensor, index) => {
    // All of them first, so that the page is fresh at once.
    if (beat > 0 && index % beats !== beat % beats) return [];
    const said = feed.at(index, timeMs);
    return said ? [{ organisation: '', sensor, timeMs, ...said }] : [];
  });
}

async function run(dataDir: string, host: string, port: number): Promise<void> {
  const kept = readWorld(dataDir);
  const file = readGateway(dataDir);
  if (!kept?.seeded || !file) throw new Error(`There is no demo in ${dataDir}; start it with npm run demo.`);
  const feed = live(world(kept), Date.now());
  const link = client(file, host, port);
  const topic = `readings/${file.user}`;
  // Resolves when the broker has acknowledged, which is when the readings are kept.
  const send = async (said: readonly Reading[]): Promise<void> => {
    if (said.length > 0) await link.publishAsync(topic, pack(said), { qos: 1 });
  };

  let sentUntilMs = file.sentUntilMs;
  const remember = () => writeGateway(dataDir, { ...file, sentUntilMs });
  let beat = 0;
  let pulse: NodeJS.Timeout | undefined;
  const stop = () => {
    clearInterval(pulse);
    link.end(true, () => process.exit(0));
  };
  for (const signal of ['SIGTERM', 'SIGINT', 'disconnect'] as const) process.on(signal, stop);

  const startedMs = Date.now();
  await catchUp(feed, sentUntilMs, startedMs, send);
  sentUntilMs = startedMs;
  remember();
  const sendTurn = (): void => {
    const timeMs = Date.now();
    send(turn(feed, beat, timeMs)).then(
      () => {
        sentUntilMs = Math.max(sentUntilMs, timeMs);
        remember();
      },
      () => undefined, // Only when stopping: until then the client keeps what is not acknowledged and sends it again.
    );
    beat += 1;
  };
  sendTurn();
  pulse = setInterval(sendTurn, beatMs);
}

try {
  const { DATA_DIR, MQTT_HOST, MQTT_PORT } = process.env;
  if (!DATA_DIR || !MQTT_PORT) throw new Error('DATA_DIR and MQTT_PORT must be set.');
  await run(DATA_DIR, MQTT_HOST ?? '127.0.0.1', Number(MQTT_PORT));
} catch (error) {
  process.stderr.write(
    `The demo's gateway stopped: ${error instanceof Error ? error.message : String(error)}\n`,
  );
  process.exit(1);
}
