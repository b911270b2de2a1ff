/** A worker that collects alone, as a real process. */
import { type ChildProcess, spawn } from 'node:child_process';
import path from 'node:path';
import { createInterface } from 'node:readline';

export interface RunningWorker {
  readonly process: ChildProcess;
  /** How often it has said so. */
  said(message: string): number;
  kill(signal: NodeJS.Signals): Promise<number | null>;
}

/** @throws Error with what it said when it ends instead of collecting */
export async function startWorker(env: Readonly<Record<string, string>>): Promise<RunningWorker> {
  const script = path.resolve(import.meta.dirname, '../../.build/ingest/main.js');
  const child = spawn(process.execPath, [script], {
    env: { PATH: process.env.PATH, ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let said = '';
  child.stderr.on('data', (chunk: Buffer) => {
    said += chunk.toString();
  });
  const ended = new Promise<number | null>((resolve) => child.once('close', resolve));
  const messages: unknown[] = [];
  const collecting = new Promise<true>((resolve) => {
    createInterface({ input: child.stdout }).on('line', (line) => {
      const { msg }: { msg?: unknown } = JSON.parse(line);
      messages.push(msg);
      // Before it has subscribed, what is published reaches nobody.
      if (msg === 'collecting from the broker') resolve(true);
    });
  });
  if ((await Promise.race([collecting, ended])) !== true) throw new Error(said);
  return {
    process: child,
    said: (message) => messages.filter((one) => one === message).length,
    kill(signal) {
      child.kill(signal);
      return ended;
    },
  };
}
