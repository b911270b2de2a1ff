/** The reference configuration of an outside broker, as it stands in the repository, under a real mosquitto. */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { freePort, listens } from './ports.ts';
import { eventually } from './service.ts';

const reference = path.resolve(import.meta.dirname, '../../ingest/reference-broker');
export const COLLECTOR_PASSWORD = 'collects $readings';

export interface Reference {
  readonly gateways: number;
  readonly collectors: number;
  readonly folder: string;
  readonly said: () => string;
  end(signal: NodeJS.Signals): Promise<number | null>;
}

/** Its own paths and ports put in, and nothing else changed; as the script starts it. */
export async function startReference(
  folder: string,
  changes: readonly [string, string][] = [],
  env: Readonly<Record<string, string>> = { COLLECTOR_PASSWORD },
): Promise<Reference> {
  const [gateways, collectors] = [await freePort(), await freePort()];
  for (const name of ['data', 'run', 'data/conf.d']) mkdirSync(path.join(folder, name), { recursive: true });
  // A process of root becomes another user, who may not read the folder; in its container it is not root.
  if (process.getuid?.() === 0) writeFileSync(path.join(folder, 'data/conf.d/user.conf'), 'user root\n');
  let text = readFileSync(path.join(reference, 'mosquitto.conf'), 'utf8');
  for (const [from, to] of [
    ['listener 1883\n', `listener ${gateways} 127.0.0.1\n`],
    ['listener 1884\n', `listener ${collectors} 127.0.0.1\n`],
    ['/etc/broker/', `${reference}/`],
    ['/run/broker/', `${folder}/run/`],
    ['/mosquitto/data/', `${folder}/data/`],
    ...changes,
  ] as const) {
    if (!text.includes(from)) throw new Error(`the configuration no longer says ${from}`);
    text = text.replaceAll(from, to);
  }
  const config = path.join(folder, 'mosquitto.conf');
  writeFileSync(config, text);
  const child: ChildProcess = spawn('sh', [path.join(reference, 'start.sh')], {
    env: {
      PATH: `${process.env.PATH}:/usr/sbin`,
      ...env,
      BROKER_CONFIG: config,
      ...{ BROKER_DATA: path.join(folder, 'data'), BROKER_RUN: path.join(folder, 'run') },
    },
  });
  let said = '';
  for (const stream of [child.stdout, child.stderr]) {
    stream?.on('data', (chunk) => {
      said += chunk;
    });
  }
  const closed = once(child, 'close').then(([code]) => code);
  await eventually('it listens', async () => {
    if (child.exitCode !== null) {
      // Its last words may come after its end.
      await closed;
      throw new Error(said);
    }
    return listens(collectors);
  }).catch((error) => {
    child.kill('SIGKILL');
    throw error;
  });
  return {
    ...{ gateways, collectors, folder },
    said: () => said,
    end(signal) {
      child.kill(signal);
      return closed;
    },
  };
}

export async function addToBroker(folder: string, name: string, password: string): Promise<void> {
  mkdirSync(path.join(folder, 'data'), { recursive: true });
  const file = path.join(folder, 'data/gateways');
  const words = existsSync(file) ? ['-b'] : ['-c', '-b'];
  const [code] = await once(spawn('mosquitto_passwd', [...words, file, name, password]), 'close');
  if (code !== 0) throw new Error(`mosquitto_passwd ended with ${code}`);
}
