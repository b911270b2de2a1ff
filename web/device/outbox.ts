/**
 * Sends what waits: the envelope, then its photos one by one. On the start, when a signal comes, when the page is looked
 * at again, after each closing and every minute; also by hand. Whatever is cut off goes on where it stopped.
 */
import { signal } from '@preact/signals';
import type { VisitBody } from '../../server/contract/index.ts';
import { newId } from '../form/new-id.ts';
import { call } from '../service/call.ts';
import { Refusal, Unreachable } from '../service/fault.ts';
import { sendPhoto } from './send-photo.ts';
import { keepingTrouble, type Outgoing, shelf } from './store.ts';

export const outbox = signal<readonly Outgoing[]>([]);
export const sending = signal(false);
/** Why it could not be noted on this device what was sent; null: it could. */
export const trouble = signal<string | null>(null);

/** Sent ones are kept for so long, to be looked at and, in doubt, sent again. */
const keptSentMs = 14 * 86_400_000;
/** A clock less far off than this is called right. */
const clockOffMs = 120_000;

export async function readOutbox(): Promise<void> {
  const all = await (await shelf()).getAll('outbox');
  outbox.value = all.toSorted((a, b) => b.closedMs - a.closedMs);
}

async function keep(entry: Outgoing): Promise<void> {
  await (await shelf()).put('outbox', entry);
  await readOutbox();
}

/** By how much this device's clock is ahead, from the answer's own date; null where it cannot be told. */
async function clockAheadMs(): Promise<number | null> {
  const asked = Date.now();
  const response = await fetch('/health', { cache: 'no-store' });
  const told = Date.parse(response.headers.get('date') ?? '');
  return Number.isNaN(told) ? null : (asked + Date.now()) / 2 - told;
}

/** Before the first sending only: afterwards the envelope is what was sent. */
function withRightTime({ body, timeTyped }: Outgoing, aheadMs: number | null): VisitBody {
  if (timeTyped || aheadMs === null || Math.abs(aheadMs) < clockOffMs || !body.sheet) return body;
  const off = Math.round(aheadMs);
  const sheet = { ...body.sheet, beganMs: body.sheet.beganMs - off, clockAheadMs: off };
  return { ...body, atMs: body.atMs - off, sheet };
}

async function sendPhotos(entry: Outgoing): Promise<void> {
  const db = await shelf();
  let refused: unknown = null;
  for (const id of entry.photoIds) {
    const photo = await db.get('photos', id);
    if (!photo || photo.sent) continue;
    try {
      await sendPhoto(photo);
    } catch (error) {
      if (error instanceof TypeError || error instanceof Unreachable) throw error;
      // One that is not taken does not hold those after it.
      refused ??= error;
      continue;
    }
    // Where there is no room to note it: the service has it, and without it there is.
    await db.put('photos', { ...photo, sent: true }).catch(() => db.delete('photos', id));
  }
  if (refused !== null) throw refused;
}

async function sendOne(waiting: Outgoing): Promise<void> {
  let entry = waiting;
  try {
    if (!entry.frozen) {
      entry = { ...entry, body: withRightTime(entry, await clockAheadMs()), frozen: true };
      // A device that is full cannot note it. As long as nothing was changed, sending it again is the same all the same.
      await keep(entry).catch((error: unknown) => {
        if (entry.body !== waiting.body) throw error;
      });
    }
    await call('putVisit', { params: { id: entry.id }, body: entry.body });
    await sendPhotos(entry);
    await keep({ ...entry, state: 'sent', said: null, contradicted: false, sentMs: Date.now() });
  } catch (error) {
    const said = error instanceof Error ? error.message : String(error);
    const refused = error instanceof Refusal && error.status < 500;
    await keep({
      ...entry,
      // Nothing came of it, so it may still be put right.
      frozen: entry.frozen && !(refused && error.status === 400),
      state: refused ? 'refused' : 'waiting',
      contradicted: refused && error.status === 409,
      said: error instanceof TypeError ? 'No connection to the service.' : said,
    });
  }
}

async function forgetOld(): Promise<void> {
  const db = await shelf();
  for (const entry of await db.getAll('outbox')) {
    if (entry.state !== 'sent' || Date.now() - (entry.sentMs ?? 0) < keptSentMs) continue;
    await db.delete('outbox', entry.id);
    for (const id of entry.photoIds) await db.delete('photos', id);
  }
}

/** What is under way, and whether it is to be gone through once more: a signal came, or another visit was closed. */
let underWay: Promise<void> | null = null;
let again = false;

/** One page at a time sends; a second one finds nothing left to do. @returns when all that waits was tried */
export function sendWaiting(): Promise<void> {
  if (underWay) {
    again = true;
    return underWay;
  }
  sending.value = true;
  const work = async () => {
    await readOutbox();
    trouble.value = null;
    for (const entry of outbox.value.toReversed()) {
      if (entry.state !== 'waiting') continue;
      // What cannot be noted of one does not hold the others.
      await sendOne(entry).catch((error: unknown) => {
        trouble.value = keepingTrouble(error);
      });
    }
  };
  const send = async () => {
    try {
      do {
        again = false;
        if (navigator.locks) await navigator.locks.request('crownwatch-outbox', work);
        else await work();
      } while (again);
    } finally {
      underWay = null;
      sending.value = false;
    }
  };
  underWay = send();
  return underWay;
}

/** In doubt: the same again changes nothing on the server. */
export async function sendAgain(entry: Outgoing): Promise<void> {
  await keep({ ...entry, state: 'waiting' });
  await sendWaiting();
}

/** What stands today in the place of a visit: itself, or the newest of its corrections. */
async function standsFor(visitId: string, instrumentId: string): Promise<string> {
  for (const { id, corrects } of await call('visits', { query: { instrument: instrumentId } })) {
    for (let before = corrects; before !== null; ) {
      if (before === visitId) return id;
      ({ corrects: before } = await call('visit', { params: { id: before } }));
    }
  }
  return visitId;
}

/**
 * Another visit is kept under this id, or what it corrects was corrected meanwhile: this one goes as a correction of
 * what stands now, under an id of its own.
 */
export async function sendAsCorrection(entry: Outgoing): Promise<void> {
  const db = await shelf();
  const id = newId();
  let corrects: string;
  try {
    corrects = await standsFor(entry.body.corrects ?? entry.id, entry.instrumentId);
  } catch (error) {
    await keep({ ...entry, said: error instanceof Error ? error.message : String(error) });
    return;
  }
  const body: VisitBody = { ...entry.body, corrects };
  const trx = db.transaction(['outbox'], 'readwrite');
  void trx
    .objectStore('outbox')
    .put({ ...entry, id, body, state: 'waiting', contradicted: false, said: null });
  void trx.objectStore('outbox').delete(entry.id);
  await trx.done;
  await sendWaiting();
}

const everyMs = 60_000;

export function startSending(): void {
  const soon = () => void sendWaiting().catch(() => undefined);
  void forgetOld().catch(() => undefined);
  soon();
  window.addEventListener('online', soon);
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') soon();
  });
  setInterval(() => {
    if (document.visibilityState === 'visible') soon();
  }, everyMs);
}
