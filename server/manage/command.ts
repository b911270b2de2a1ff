import type { Stores } from '../services.ts';

/** One command of `npm run manage`: it is given the opened data folder, its words and its options. */
export type Command = (
  stores: Stores,
  words: readonly string[],
  options: Readonly<Record<string, string>>,
) => Promise<void>;
