/**
 * What the demo remembers between runs, two small files in its data folder: which world it is (so that a later start
 * goes on with the same one), and the gateway's own credentials and how far it has sent (readable by its owner only).
 */
import { existsSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import * as z from 'zod/mini';
import { openDataFolder } from '../server/data-folder.ts';

const worldFile = z.object({
  /** False while seeding, so that one broken off is begun again. */
  seeded: z.boolean(),
  organisation: z.string(),
  seed: z.string(),
  endMs: z.int(),
  months: z.int(),
});
export type WorldFile = z.infer<typeof worldFile>;

const gatewayFile = z.object({ user: z.string(), password: z.string(), sentUntilMs: z.int() });
export type GatewayFile = z.infer<typeof gatewayFile>;

const worldName = 'demo-world.json';
const gatewayName = 'demo-gateway.json';

function read<T>(schema: z.ZodMiniType<T>, dataDir: string, name: string): T | null {
  const file = path.join(dataDir, name);
  if (!existsSync(file)) return null;
  try {
    return schema.parse(JSON.parse(readFileSync(file, 'utf8')));
  } catch {
    // The content is not repeated: one of the two holds a password.
    throw new Error(`${file} cannot be read; delete the folder ${dataDir} to begin the demo anew.`);
  }
}

/** Whole or not at all, also when the process ends halfway. */
function write(dataDir: string, name: string, value: unknown): void {
  const file = path.join(dataDir, name);
  writeFileSync(`${file}.new`, `${JSON.stringify(value, null, 2)}\n`, { mode: 0o600 });
  renameSync(`${file}.new`, file);
}

export const readWorld = (dataDir: string): WorldFile | null => read(worldFile, dataDir, worldName);
export const writeWorld = (dataDir: string, world: WorldFile): void => write(dataDir, worldName, world);
export const readGateway = (dataDir: string): GatewayFile | null => read(gatewayFile, dataDir, gatewayName);
export const writeGateway = (dataDir: string, gateway: GatewayFile): void =>
  write(dataDir, gatewayName, gateway);

/**
 * Readies a folder for seeding: makes it, and clears what a seeding broken off has left.
 * @throws Error where the folder cannot be written to, or holds records that are not the demo's.
 */
export function clearForSeeding(dataDir: string, world: WorldFile): void {
  const begun = readWorld(dataDir) !== null;
  if (!begun && existsSync(path.join(dataDir, 'records.db'))) {
    throw new Error(
      `The data folder ${dataDir} holds records that are not the demo’s; set DATA_DIR to another one.`,
    );
  }
  const files = openDataFolder(dataDir);
  writeWorld(dataDir, world);
  for (const file of [files.recordsFile, files.readingsFile]) {
    for (const tail of ['', '-wal', '-shm']) rmSync(file + tail, { force: true });
  }
}
