/**
 * Group commit: what arrives within a few milliseconds is worked off together, because a commit costs the same for
 * one reading as for a thousand. Groups never overlap; what arrives while one is at work forms the next.
 */
export interface GroupLimits<Item> {
  /** A group this heavy starts at once. */
  readonly mostWeight: number;
  /** A lighter one waits this long for company. */
  readonly longestMs: number;
  readonly weigh: (item: Item) => number;
}

interface Waiting<Item, Result> {
  readonly item: Item;
  readonly resolve: (result: Result) => void;
  readonly reject: (error: unknown) => void;
}

export interface Grouped<Item, Result> {
  /** Resolves with the item's own result after its whole group is done; rejects with the group's failure. */
  add(item: Item): Promise<Result>;
  /** Resolves when nothing waits and nothing is at work. */
  settle(): Promise<void>;
}

/** @param work gives one result per item, in order. */
export function grouped<Item, Result>(
  { mostWeight, longestMs, weigh }: GroupLimits<Item>,
  work: (items: Item[]) => Promise<readonly Result[]>,
): Grouped<Item, Result> {
  let waiting: Waiting<Item, Result>[] = [];
  let weight = 0;
  let timer: NodeJS.Timeout | undefined;
  let running: Promise<void> | undefined;

  function start(): void {
    clearTimeout(timer);
    timer = undefined;
    running ??= run().finally(() => {
      running = undefined;
    });
  }

  async function run(): Promise<void> {
    while (waiting.length > 0) {
      const group = waiting;
      waiting = [];
      weight = 0;
      try {
        const results = await work(group.map(({ item }) => item));
        for (const [index, { resolve, reject }] of group.entries()) {
          const result = results[index];
          if (result === undefined) reject(new Error('a group gave too few results'));
          else resolve(result);
        }
      } catch (error) {
        for (const { reject } of group) reject(error);
      }
    }
  }

  return {
    add(item) {
      return new Promise((resolve, reject) => {
        waiting.push({ item, resolve, reject });
        weight += weigh(item);
        if (weight >= mostWeight) start();
        else timer ??= setTimeout(start, longestMs);
      });
    },
    async settle() {
      while (waiting.length > 0 || running) {
        start();
        await running;
      }
    },
  };
}
