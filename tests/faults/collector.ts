/** Starts collector.mjs, if wished under another program, in a folder of its own. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync } from 'node:fs';
import path from 'node:path';

const compiled = path.resolve(import.meta.dirname, '../../.build/ingest/index.js');
export const isBuilt = existsSync(compiled);

export interface Collector {
  /** Of the collector itself, not of a program it runs under. */
  readonly pid: number;
  readonly port: number;
  stop(): Promise<void>;
}

export async function startCollector(
  file: string,
  synchronous: 'FULL' | 'NORMAL',
  under: readonly string[] = [],
): Promise<Collector> {
  const script = path.join(import.meta.dirname, 'collector.mjs');
  const [program = process.execPath, ...args] = [
    ...under,
    process.execPath,
    script,
    compiled,
    file,
    synchronous,
  ];
  const child = spawn(program, args, { stdio: ['ignore', 'pipe', 'inherit'] });
  const closed = once(child, 'close');
  const first = await Promise.race([once(child.stdout, 'data'), closed]);
  const [port = 0, pid = 0] = String(first[0]).split(' ').map(Number);
  if (!(port > 0 && pid > 0)) throw new Error(`the collector ended with ${first[0]}`);
  return {
    pid,
    port,
    async stop() {
      process.kill(pid, 'SIGTERM');
      await closed;
    },
  };
}
