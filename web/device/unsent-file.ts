/** Unsent work as a file, and back: for a phone that is about to be lost, full, or without a signal for long. */
import type { SheetDraft } from '../visit-sheet/draft.ts';
import { readOutbox } from './outbox.ts';
import { type KeptPhoto, type Outgoing, shelf } from './store.ts';

interface UnsentFile {
  readonly crownwatch: 'unsent visits';
  readonly version: 1;
  readonly outbox: readonly Outgoing[];
  readonly drafts: readonly SheetDraft[];
  readonly photos: readonly (Omit<KeptPhoto, 'bytes'> & { readonly base64: string })[];
}

function toBase64(bytes: ArrayBuffer): string {
  let text = '';
  const all = new Uint8Array(bytes);
  for (let i = 0; i < all.length; i += 8192) text += String.fromCharCode(...all.subarray(i, i + 8192));
  return btoa(text);
}

const fromBase64 = (text: string): ArrayBuffer => Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer;

export async function unsentFile(): Promise<string> {
  const db = await shelf();
  const outbox = (await db.getAll('outbox')).filter(({ state }) => state !== 'sent');
  const drafts = await db.getAll('drafts');
  const wanted = new Set([...outbox, ...drafts].map(({ id }) => id));
  const photos = (await db.getAll('photos'))
    .filter(({ visitId }) => wanted.has(visitId))
    .map(({ bytes, ...photo }) => ({ ...photo, base64: toBase64(bytes) }));
  const file: UnsentFile = { crownwatch: 'unsent visits', version: 1, outbox, drafts, photos };
  return JSON.stringify(file);
}

/** What is already here stays as it is. @throws Error with a sentence. */
export async function takeIn(text: string): Promise<{ readonly visits: number; readonly drafts: number }> {
  let file: UnsentFile;
  try {
    file = JSON.parse(text) as UnsentFile;
    if (file.crownwatch !== 'unsent visits' || file.version !== 1) throw new Error('another file');
  } catch {
    throw new Error('This file holds no unsent visits.');
  }
  const db = await shelf();
  const tally = { visits: 0, drafts: 0 };
  for (const { base64, ...photo } of file.photos) {
    if (!(await db.get('photos', photo.id))) await db.put('photos', { ...photo, bytes: fromBase64(base64) });
  }
  for (const entry of file.outbox) {
    if (await db.get('outbox', entry.id)) continue;
    await db.put('outbox', entry);
    tally.visits += 1;
  }
  for (const draft of file.drafts) {
    if (await db.get('drafts', draft.id)) continue;
    await db.put('drafts', draft);
    tally.drafts += 1;
  }
  await readOutbox();
  return tally;
}
