/** Unisons of a register as they are entered, and as they are sent: a word of the ear, or cents; how many, and which. */
import type { Register, SpreadWord, UnisonSample } from '../../server/contract/index.ts';
import { registers } from '../../server/contract/index.ts';
import { typed } from '../words/numbers.ts';
import { keyOf, noteName } from './notes.ts';

export interface UnisonEntry {
  readonly word: SpreadWord | null;
  readonly cents: string;
  readonly sampled: string;
  /** Notes as they were typed: "C3 E3, A3". */
  readonly notes: string;
}
export type UnisonEntries = Readonly<Partial<Record<Register, UnisonEntry>>>;

export const noUnisons: UnisonEntry = { word: null, cents: '', sampled: '', notes: '' };

/** One or the other: what is measured takes the place of the word, and the other way round. */
export function changeUnisons(before: UnisonEntry | undefined, change: Partial<UnisonEntry>): UnisonEntry {
  const next = { ...(before ?? noUnisons), ...change };
  if (change.word) return { ...next, cents: '' };
  return change.cents ? { ...next, word: null } : next;
}

const notesIn = (text: string): string[] => text.split(/[\s,;]+/).filter((note) => note !== '');
const isEmpty = ({ word, cents, sampled, notes }: UnisonEntry): boolean =>
  word === null && [cents, sampled, notes].every((text) => text.trim() === '');

/** What cannot be meant, in one sentence. */
export function unisonFault(entry: UnisonEntry): string | null {
  if (isEmpty(entry)) return null;
  const [cents, sampled] = [typed(entry.cents), typed(entry.sampled)];
  const wrong = [entry.cents, entry.sampled].find((text) => Number.isNaN(typed(text)));
  if (wrong !== undefined) return `“${wrong.trim()}” is not a number.`;
  if (cents !== null && (cents < 0 || cents > 200))
    return `${entry.cents.trim()} cents cannot be; it must be 0 to 200.`;
  if (sampled !== null && (!Number.isInteger(sampled) || sampled < 1 || sampled > 108))
    return `${entry.sampled.trim()} unisons cannot be; it must be 1 to 108, in whole numbers.`;
  const notes = notesIn(entry.notes);
  const keys = notes.map(keyOf);
  const unknown = notes.find((_note, i) => Number.isNaN(keys[i]));
  if (unknown !== undefined) return `“${unknown}” is no note; write it like C4 or A#0.`;
  if (new Set(keys).size !== keys.length) return 'A note is named twice.';
  if (sampled !== null && keys.length > sampled)
    return `${keys.length} notes are named, and ${sampled} were sampled.`;
  if (cents === null && entry.word === null) return 'How wide they were is missing: in cents, or in a word.';
  return null;
}

/** @param entries without faults; absent where nothing was listened to */
export function samplesOf(entries: UnisonEntries): UnisonSample[] {
  return registers.flatMap((register) => {
    const entry = entries[register];
    if (!entry || isEmpty(entry)) return [];
    const keys = notesIn(entry.notes).flatMap((note) => keyOf(note) ?? []);
    const { word } = entry;
    return [{ register, keys, sampled: typed(entry.sampled), cents: typed(entry.cents), word }];
  });
}

export function entriesOf(samples: readonly UnisonSample[] | undefined): UnisonEntries {
  const text = (value: number | null) => (value === null ? '' : String(value));
  return Object.fromEntries(
    (samples ?? []).map(({ register, keys, sampled, cents, word }) => [
      register,
      { word, cents: text(cents), sampled: text(sampled), notes: keys.map(noteName).join(' ') },
    ]),
  );
}
