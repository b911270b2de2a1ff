/** Debian's InfluxDB 1.x as a real process: free ports, a folder of its own, stopped by process id. */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { freePort } from './ports.ts';
import { eventually } from './service.ts';

export interface RunningInflux {
  readonly origin: string;
  /** Asks InfluxQL and answers with the engine's JSON. */
  ask(query: string): Promise<unknown>;
  signal(signal: NodeJS.Signals): void;
  /** kill -9, and again on the same ports and folder. */
  killAndRestart(): Promise<void>;
  stop(): Promise<void>;
}

export async function startInflux(): Promise<RunningInflux> {
  const folder = await mkdtemp(path.join(tmpdir(), 'crownwatch-influx-'));
  const [http, backup] = [await freePort(), await freePort()];
  const config = path.join(folder, 'influxdb.conf');
  await writeFile(
    config,
    `reporting-enabled = false
bind-address = "127.0.0.1:${backup}"
[meta]
  dir = "${folder}/meta"
[data]
  dir = "${folder}/data"
  wal-dir = "${folder}/wal"
[monitor]
  store-enabled = false
[http]
  bind-address = "127.0.0.1:${http}"
  log-enabled = false
[continuous_queries]
  enabled = false
[logging]
  level = "error"
`,
  );
  const origin = `http://127.0.0.1:${http}`;
  let child: ChildProcess;
  async function start(): Promise<void> {
    child = spawn('influxd', ['run', '-config', config], { stdio: 'ignore' });
    await eventually('influxd answers', async () => {
      if (child.exitCode !== null) throw new Error(`influxd has ended with ${child.exitCode}`);
      return fetch(`${origin}/ping`).then(
        ({ ok }) => ok,
        () => false,
      );
    });
  }
  async function end(signal: NodeJS.Signals): Promise<void> {
    const closed = once(child, 'close');
    child.kill(signal);
    await closed;
  }
  await start();
  return {
    origin,
    async ask(query) {
      const answer = await fetch(`${origin}/query`, {
        method: 'POST',
        body: new URLSearchParams({ q: query }),
      });
      return answer.json();
    },
    signal: (signal) => void child.kill(signal),
    async killAndRestart() {
      await end('SIGKILL');
      await start();
    },
    async stop() {
      await end('SIGKILL');
      await rm(folder, { recursive: true, force: true });
    },
  };
}
