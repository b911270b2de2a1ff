/** Debian's mosquitto as a real process on a free port, with a folder of its own, stopped by process id. */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync } from 'node:fs';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { freePort, listens } from './ports.ts';
import { eventually, hasProgram } from './service.ts';

export interface RunningMosquitto {
  readonly port: number;
  readonly folder: string;
  signal(signal: NodeJS.Signals): void;
  /** On the same port; a broker without persistence comes back without its sessions. */
  restart(signal: NodeJS.Signals): Promise<void>;
  stop(): Promise<void>;
}

/** @param lines more of mosquitto.conf; `{folder}` stands for the broker's own folder. */
export async function startMosquitto(
  lines: readonly string[] = ['allow_anonymous true'],
  prepare: (folder: string) => Promise<void> | void = () => {},
): Promise<RunningMosquitto> {
  const folder = await mkdtemp(path.join(tmpdir(), 'crownwatch-mosquitto-'));
  await prepare(folder);
  const port = await freePort();
  const config = path.join(folder, 'mosquitto.conf');
  const text = [
    `listener ${port} 127.0.0.1`,
    // Debian's would become another user, who may not read the folder.
    'user root',
    'max_queued_messages 1000000',
    'max_inflight_messages 1000',
    ...lines,
  ].join('\n');
  await writeFile(config, `${text.replaceAll('{folder}', folder)}\n`);
  let child: ChildProcess;
  async function start(): Promise<void> {
    child = spawn('mosquitto', ['-c', config], {
      stdio: 'ignore',
      env: { PATH: `${process.env.PATH}:/usr/sbin` },
    });
    await eventually('mosquitto listens', async () => {
      if (child.exitCode !== null) throw new Error(`mosquitto has ended with ${child.exitCode}`);
      return listens(port);
    });
  }
  async function end(signal: NodeJS.Signals): Promise<void> {
    const closed = once(child, 'close');
    child.kill(signal);
    await closed;
  }
  await start();
  return {
    port,
    folder,
    signal: (signal) => void child.kill(signal),
    async restart(signal) {
      await end(signal);
      await start();
    },
    async stop() {
      await end('SIGKILL');
      await rm(folder, { recursive: true, force: true });
    },
  };
}

/** Debian keeps it where only root's path looks. */
export const hasMosquitto = (): boolean => existsSync('/usr/sbin/mosquitto') || hasProgram('mosquitto');
