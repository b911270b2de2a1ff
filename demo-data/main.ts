/**
 * `npm run demo`: fills a data folder with an invented fleet once, then runs the service on it and a simulated gateway
 * that keeps sending. Takes the service's own settings (PORT, MQTT_PORT, DATA_DIR); ends as the service ends.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import path from 'node:path';
import { createInterface } from 'node:readline';
import { Presets, SingleBar } from 'cli-progress';
import { readConfig } from '../server/config.ts';
import { fillGap, seedFolder } from './seed.ts';
import { readGateway, readWorld } from './world-file.ts';

const say = (sentence: string): boolean => process.stdout.write(`${sentence}\n`);

/** Below this the gateway itself sends what was missed; no sensor counts as silent so soon. */
const shortGapMs = 30 * 60_000;

async function prepare(dataDir: string): Promise<void> {
  const kept = readWorld(dataDir);
  const gateway = readGateway(dataDir);
  if (!kept?.seeded || !gateway) {
    const bar = new SingleBar(
      {
        format: '{bar} {percentage} % | {value} of about {total} readings | {duration} s',
        noTTYOutput: false,
      },
      Presets.shades_classic,
    );
    let started = false;
    await seedFolder(dataDir, Date.now(), (done, expected) => {
      if (!started) {
        say('Making 18 months of an invented fleet: 28 pianos, 36 sensors. This happens once.');
        bar.start(expected, 0);
      }
      started = true;
      bar.update(done);
    });
    bar.stop();
    return;
  }
  const gapMs = Date.now() - gateway.sentUntilMs;
  if (gapMs < shortGapMs) return;
  const filled = await fillGap(dataDir, kept, gateway, Date.now());
  say(`Went on from the last run: ${filled} readings of the time since.`);
}

interface Listening {
  readonly httpPort: number;
  readonly mqttPort: number;
}

/** The service says where it listens in one line of its log; of the rest, warnings are passed on. */
function whenListening(service: ChildProcess, listens: (at: Listening) => void): void {
  if (!service.stdout) return;
  createInterface({ input: service.stdout }).on('line', (line) => {
    const entry = parsed(line);
    if (entry === null || Number(entry.level) >= 40) process.stderr.write(`${line}\n`);
    if (entry?.msg === 'listening') {
      listens({ httpPort: Number(entry.httpPort), mqttPort: Number(entry.mqttPort) });
    }
  });
}

function parsed(line: string): Record<string, unknown> | null {
  try {
    return JSON.parse(line);
  } catch {
    return null;
  }
}

const ended = (child: ChildProcess): Promise<number> =>
  new Promise((resolve) => child.once('exit', (code, signal) => resolve(code ?? (signal ? 1 : 0))));

async function run(dataDir: string): Promise<number> {
  const env = { ...process.env, DATA_DIR: dataDir, MQTT_HOST: process.env.MQTT_HOST ?? '127.0.0.1' };
  const here = import.meta.dirname;
  const service = spawn(process.execPath, [path.join(here, '../server/main.js')], {
    // The line that says where it listens is needed whatever level is set outside.
    env: { ...env, LOG_LEVEL: 'info' },
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const serviceEnded = ended(service);
  let gateway: ChildProcess | undefined;
  let stopping = false;
  const stop = async () => {
    if (stopping) return;
    stopping = true;
    if (gateway?.exitCode === null && gateway.kill('SIGTERM')) await ended(gateway);
    service.kill('SIGTERM');
  };
  process.on('SIGINT', stop);
  process.on('SIGTERM', stop);
  // npm's shell may be told to end without passing it on; ports must not stay taken then.
  const parent = process.ppid;
  if (process.env.npm_lifecycle_event) {
    setInterval(() => {
      if (process.ppid !== parent) void stop();
    }, 1_000).unref();
  }

  whenListening(service, ({ httpPort, mqttPort }) => {
    say(`\nThe demo is running: http://127.0.0.1:${httpPort}/`);
    say('Sensors are simulated and keep sending. Stop with Ctrl-C; the next start goes on from here.');
    if (stopping) return;
    gateway = spawn(process.execPath, [path.join(here, 'gateway.js')], {
      env: { ...env, MQTT_PORT: String(mqttPort) },
      stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
    });
    // A gateway that fails does not take the page with it.
    gateway.once('error', (error) =>
      process.stderr.write(`The demo's gateway did not start: ${error.message}\n`),
    );
  });
  const code = await serviceEnded;
  if (!stopping && service.signalCode) {
    process.stderr.write(`The service was ended from outside by ${service.signalCode}.\n`);
  }
  await stop();
  return code;
}

try {
  // Faulty settings are told before the seconds of seeding, not after it.
  const { dataDir } = readConfig({ ...process.env, DATA_DIR: process.env.DATA_DIR ?? '.data/demo' });
  await prepare(dataDir);
  process.exitCode = await run(dataDir);
} catch (error) {
  process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`);
  process.exitCode = 1;
}
