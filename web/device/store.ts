/**
 * What this device keeps: briefs of every instrument, drafts, photos as plain bytes (some browsers lose Blobs), and the
 * outbox. One transaction a change; a photo is read back before it is called saved.
 */
import { type DBSchema, type IDBPDatabase, openDB } from 'idb';
import type { VisitBody, VisitBrief, VisitBriefs } from '../../server/contract/index.ts';
import { newId } from '../form/new-id.ts';
import { asOfNow, type SheetDraft } from '../visit-sheet/draft.ts';

export interface KeptPhoto {
  readonly id: string;
  readonly visitId: string;
  readonly instrumentId: string;
  readonly bytes: ArrayBuffer;
  readonly sent: boolean;
}

export interface Outgoing {
  readonly id: string;
  readonly instrumentId: string;
  /** "Studio 4 · Grand 208 cm". */
  readonly title: string;
  readonly body: VisitBody;
  readonly closedMs: number;
  readonly photoIds: readonly string[];
  readonly state: 'waiting' | 'sent' | 'refused';
  /** Set with the first sending: from then on the envelope is never changed. */
  readonly frozen: boolean;
  /** Its time was typed, so that no clock need be put right. */
  readonly timeTyped?: boolean;
  /** What stood in the way last; null: nothing. */
  readonly said: string | null;
  readonly contradicted: boolean;
  readonly sentMs: number | null;
}

type Meta = Pick<VisitBriefs, 'atMs' | 'workshop' | 'ownTimes'>;

interface Shelf extends DBSchema {
  drafts: { key: string; value: SheetDraft; indexes: { instrument: string } };
  photos: { key: string; value: KeptPhoto; indexes: { visit: string } };
  outbox: { key: string; value: Outgoing };
  briefs: { key: string; value: VisitBrief };
  meta: { key: string; value: Meta };
}

let opened: Promise<IDBPDatabase<Shelf>> | null = null;

export function shelf(): Promise<IDBPDatabase<Shelf>> {
  opened ??= openDB<Shelf>('crownwatch', 1, {
    upgrade(db) {
      db.createObjectStore('drafts', { keyPath: 'id' }).createIndex('instrument', 'instrumentId');
      db.createObjectStore('photos', { keyPath: 'id' }).createIndex('visit', 'visitId');
      db.createObjectStore('outbox', { keyPath: 'id' });
      db.createObjectStore('briefs', { keyPath: 'instrumentId' });
      db.createObjectStore('meta');
    },
    // Another page wants a newer form: let go, so that it need not wait.
    blocking: (_now, _next, event) => (event.target as IDBDatabase).close(),
    terminated: () => {
      opened = null;
    },
  }).catch((error: unknown) => {
    opened = null;
    throw error;
  });
  return opened;
}

/** Full storage is said in words a person can act on. */
export function keepingTrouble(error: unknown): string {
  const name = error instanceof Error ? error.name : '';
  if (name === 'QuotaExceededError') {
    return 'This device is full, so the last change is only on this page. Make room, or save the unsent work to a file, before you leave it.';
  }
  return 'This browser keeps nothing just now: stay on this page, and save the unsent work to a file.';
}

export async function keepBriefs(briefs: VisitBriefs): Promise<void> {
  const db = await shelf();
  const trx = db.transaction(['briefs', 'meta'], 'readwrite');
  const { instruments, ...meta } = briefs;
  await trx.objectStore('briefs').clear();
  for (const brief of instruments) void trx.objectStore('briefs').put(brief);
  void trx.objectStore('meta').put(meta, 'meta');
  await trx.done;
}

/** @param corrects the visit it corrects; null: a visit of its own */
export async function draftOf(instrumentId: string, corrects: string | null): Promise<SheetDraft | null> {
  const all = await (await shelf()).getAllFromIndex('drafts', 'instrument', instrumentId);
  const mine = all.map(asOfNow).filter((draft) => draft.corrects === corrects);
  return mine.toSorted((a, b) => b.beganMs - a.beganMs)[0] ?? null;
}

/** Writes go one after another, so that an older draft never lands on a newer one. */
let writing: Promise<unknown> = Promise.resolve();

export function keepDraft(draft: SheetDraft): Promise<void> {
  const write = writing.then(async () => {
    await (await shelf()).put('drafts', draft);
  });
  writing = write.catch(() => undefined);
  return write;
}

export async function dropDraft(draft: SheetDraft): Promise<void> {
  await writing;
  const db = await shelf();
  const trx = db.transaction(['drafts', 'photos'], 'readwrite');
  void trx.objectStore('drafts').delete(draft.id);
  const photos = trx.objectStore('photos');
  for (const id of await photos.index('visit').getAllKeys(draft.id)) void photos.delete(id);
  await trx.done;
}

/** @throws when what is read back is not what was written. */
export async function keepPhoto(photo: KeptPhoto): Promise<void> {
  const db = await shelf();
  await db.put('photos', photo);
  const back = await db.get('photos', photo.id);
  const [sent, kept] = [new Uint8Array(photo.bytes), new Uint8Array(back?.bytes ?? new ArrayBuffer(0))];
  if (sent.length === kept.length && sent.every((byte, i) => byte === kept[i])) return;
  await db.delete('photos', photo.id);
  throw new Error('the photo read back is another');
}

/** An envelope that nobody took becomes a draft again, in one step. */
export async function openAgain(outgoing: Outgoing, draft: SheetDraft): Promise<void> {
  await writing;
  const db = await shelf();
  const trx = db.transaction(['drafts', 'outbox'], 'readwrite');
  void trx.objectStore('drafts').put(draft);
  void trx.objectStore('outbox').delete(outgoing.id);
  await trx.done;
}

/**
 * The draft becomes an envelope in one step: it is never in both places, and never in neither. Where it was closed on
 * another page already, this goes after that as its correction.
 * @returns the id it is sent under
 */
export async function closeDraft(draft: SheetDraft, outgoing: Outgoing): Promise<string> {
  await writing;
  const db = await shelf();
  const trx = db.transaction(['drafts', 'outbox', 'photos'], 'readwrite');
  const before = await trx.objectStore('outbox').get(outgoing.id);
  const final = before
    ? { ...outgoing, id: newId(), body: { ...outgoing.body, corrects: before.id } }
    : outgoing;
  void trx.objectStore('outbox').put(final);
  void trx.objectStore('drafts').delete(draft.id);
  // A photo that was left out could be brought back by undo; from here on it cannot.
  const photos = trx.objectStore('photos');
  const wanted = [...final.photoIds, ...(before?.photoIds ?? [])];
  for (const id of await photos.index('visit').getAllKeys(draft.id))
    if (!wanted.includes(id)) void photos.delete(id);
  await trx.done;
  return final.id;
}
