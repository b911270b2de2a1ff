/**
 * A few numbers that outlive the process: when a broker elsewhere last held a session of ours, what it had dropped by
 * then. With them a broker that has lost our session is told apart from one that never had it, also after a restart of
 * ours.
 */
import { readFile, rename, writeFile } from 'node:fs/promises';

export interface Memory {
  /** null: nothing was ever kept under this name. */
  recall(name: string): Promise<number | null>;
  keep(name: string, value: number): Promise<void>;
}

/** A name that nobody uses any more is a line in a file; this many of them are kept. */
const remembered = 1_000;

async function readKept(file: string): Promise<Map<string, number>> {
  try {
    const kept: unknown = JSON.parse(await readFile(file, 'utf8'));
    const entries = typeof kept === 'object' && kept !== null ? Object.entries(kept) : [];
    return new Map(entries.flatMap(([name, value]) => (typeof value === 'number' ? [[name, value]] : [])));
  } catch {
    // None yet, or damaged: what it would have told is lost with it.
    return new Map();
  }
}

/** One process at a time writes the file. */
export function memoryInFile(file: string): Memory {
  let kept: Promise<Map<string, number>> | undefined;
  let writing = Promise.resolve();
  const all = (): Promise<Map<string, number>> => {
    kept ??= readKept(file);
    return kept;
  };
  return {
    recall: async (name) => (await all()).get(name) ?? null,
    async keep(name, value) {
      const known = await all();
      known.delete(name);
      known.set(name, value);
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
