/**
 * When a broker elsewhere last held a session of ours. With it, a broker that knows no session of ours is told apart
 * from one that has never had one, also after our own restart.
 */
import { readFile, rename, writeFile } from 'node:fs/promises';

export interface SessionMemory {
  /** null: no session of this name was ever held. */
  heldMs(name: string): Promise<number | null>;
  keep(name: string, heldMs: number): Promise<void>;
}

/** A name that nobody uses any more is a line in a file; this many of them are kept. */
const remembered = 1_000;

async function readHeld(file: string): Promise<Map<string, number>> {
  try {
    const kept: unknown = JSON.parse(await readFile(file, 'utf8'));
    const entries = typeof kept === 'object' && kept !== null ? Object.entries(kept) : [];
    return new Map(entries.flatMap(([name, heldMs]) => (typeof heldMs === 'number' ? [[name, heldMs]] : [])));
  } catch {
    // None yet, or damaged: what it would have told is lost with it.
    return new Map();
  }
}

/** One process at a time writes the file. */
export function memoryInFile(file: string): SessionMemory {
  let held: Promise<Map<string, number>> | undefined;
  let writing = Promise.resolve();
  const all = (): Promise<Map<string, number>> => {
    held ??= readHeld(file);
    return held;
  };
  return {
    heldMs: async (name) => (await all()).get(name) ?? null,
    async keep(name, heldMs) {
      const known = await all();
      known.delete(name);
      known.set(name, heldMs);
      for (const oldest of known.keys()) {
        if (known.size <= remembered) break;
        known.delete(oldest);
      }
      const write = writing.then(async () => {
        // Whole or not at all: a process may end in the middle of a write.
        await writeFile(`${file}.new`, JSON.stringify(Object.fromEntries(known)), { mode: 0o600 });
        await rename(`${file}.new`, file);
      });
      writing = write.catch(() => {});
      await write;
    },
  };
}
