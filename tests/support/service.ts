/** Starts the built service as a real process on free ports and a folder of its own, and stops it by process id. */
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { createInterface } from 'node:readline';
import { freePort } from './ports.ts';

const root = path.resolve(import.meta.dirname, '../..');
const built = (file: string) => path.join(root, '.build', file);

export function temporaryFolder(): { path: string; remove(): void } {
  const folder = mkdtempSync(path.join(tmpdir(), 'crownwatch-test-'));
  return { path: folder, remove: () => rmSync(folder, { recursive: true, force: true }) };
}

export interface RunningService {
  readonly url: string;
  readonly mqttPort: number;
  readonly process: ChildProcess;
  /** Log lines so far, parsed. */
  readonly log: readonly Record<string, unknown>[];
  kill(signal: NodeJS.Signals): Promise<number | null>;
  /** Ends it, lets `between` be done, and starts it again on the same ports. */
  restart(signal: NodeJS.Signals, between?: () => unknown): Promise<void>;
}

/**
 * @param main of another build than the usual
 * @throws Error with what the process said when it ends instead of listening.
 */
export async function startService(
  dataDir: string,
  env: Readonly<Record<string, string>> = {},
  main = built('server/main.js'),
): Promise<RunningService> {
  const log: Record<string, unknown>[] = [];
  // It comes back on them after a restart, so nobody else may have taken them meanwhile.
  const [PORT, MQTT_PORT] = [String(await freePort()), String(await freePort())];
  async function start(ports: Readonly<Record<string, string>>) {
    const child = spawn(process.execPath, [main], {
      env: {
        PATH: process.env.PATH,
        DATA_DIR: dataDir,
        ...{ PORT, MQTT_PORT },
        MQTT_HOST: '127.0.0.1',
        WATCH_SECONDS: '0.3',
        ...env,
        ...ports,
      },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    const errors: string[] = [];
    child.stderr.on('data', (chunk: Buffer) => errors.push(chunk.toString()));
    const ended = new Promise<number | null>((resolve) => child.once('close', resolve));
    const listening = new Promise<Record<string, unknown>>((resolve) => {
      createInterface({ input: child.stdout }).on('line', (line) => {
        const entry = JSON.parse(line) as Record<string, unknown>;
        log.push(entry);
        if (entry.msg === 'listening') resolve(entry);
      });
    });
    const first = await Promise.race([listening, ended]);
    if (first === null || typeof first === 'number') {
      throw new Error(`the service ended with ${first}: ${errors.join('')}`);
    }
    return { child, ended, ports: { PORT: String(first.httpPort), MQTT_PORT: String(first.mqttPort) } };
  }
  let running = await start({});
  return {
    url: `http://127.0.0.1:${running.ports.PORT}`,
    mqttPort: Number(running.ports.MQTT_PORT),
    get process() {
      return running.child;
    },
    log,
    kill(signal) {
      running.child.kill(signal);
      return running.ended;
    },
    async restart(signal, between) {
      running.child.kill(signal);
      await running.ended;
      await between?.();
      running = await start(running.ports);
    },
  };
}

/** Runs the service to its end, for starts that must fail. */
export function failingStart(env: Readonly<Record<string, string>>): { code: number | null; said: string } {
  const { status, stderr } = spawnSync(process.execPath, [built('server/main.js')], {
    env: { PATH: process.env.PATH, ...env },
    encoding: 'utf8',
    timeout: 60_000,
  });
  return { code: status, said: stderr };
}

export function manage(
  dataDir: string,
  words: readonly string[],
  env: Readonly<Record<string, string>> = {},
): { code: number | null; out: string; said: string } {
  const { status, stdout, stderr } = spawnSync(process.execPath, [built('server/manage.js'), ...words], {
    env: { PATH: process.env.PATH, DATA_DIR: dataDir, ...env },
    encoding: 'utf8',
    timeout: 60_000,
  });
  return { code: status, out: stdout, said: stderr };
}

export interface GatewaySecrets {
  readonly user: string;
  readonly password: string;
  readonly token: string;
}

/** Makes a gateway by the command a person would use. */
export function addGateway(dataDir: string, name: string): GatewaySecrets {
  const { code, out, said } = manage(dataDir, ['gateway', 'add', name]);
  if (code !== 0) throw new Error(said);
  const read = (field: string) => new RegExp(`^${field}: (.+)$`, 'm').exec(out)?.[1] ?? '';
  return { user: read('user'), password: read('password'), token: read('token') };
}

/** Polls until a condition holds; the only waiting a test does. */
export async function eventually<Value>(
  what: string,
  ask: () => Promise<Value | null | undefined | false>,
  withinMs = 50_000,
): Promise<Value> {
  const end = Date.now() + withinMs;
  for (;;) {
    const value = await ask();
    if (value) return value;
    if (Date.now() > end) throw new Error(`${what}: not within ${withinMs} ms`);
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

/** Debian programs a test needs: absent ones skip it, saying so, and fail where CI is set. */
export function hasProgram(name: string): boolean {
  const found = (process.env.PATH ?? '').split(':').some((folder) => existsSync(path.join(folder, name)));
  if (found) return true;
  if (process.env.CI) throw new Error(`${name} is not installed, and CI must have it`);
  console.warn(`skipped: ${name} is not installed`);
  return false;
}
