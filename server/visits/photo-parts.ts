/**
 * Photos that come in parts, so that a sending that was cut goes on where it stopped. Parts come in order; what came
 * already is let pass. They are kept for three days, and only so many bytes of them: the oldest photo begins anew then.
 */
import { createHash } from 'node:crypto';
import type { PhotoReceipt, PhotoReceived } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { mustBeKnown } from '../registry/known.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { type PhotoPlace, photoIsKept, putPhoto } from './photos.ts';
import { NotAPicture, photoLimitBytes } from './picture.ts';

const keptMs = 3 * 86_400_000;
const keptBytes = 60_000_000;

export interface PhotoPart {
  readonly fromByte: number;
  readonly totalBytes: number;
  /** Of the whole, in hexadecimal; null: not told. */
  readonly wholeSha256: string | null;
  readonly bytes: Uint8Array;
}

/** The photo is larger than one may be. */
export class PhotoTooLarge extends Error {
  constructor() {
    super(`photo: at most ${photoLimitBytes / 1e6} MB; send it smaller`);
    this.name = 'PhotoTooLarge';
  }
}

export async function receivedOf(db: Database, viewer: Viewer, id: string): Promise<PhotoReceived> {
  const whole = await photoIsKept(db, viewer, id);
  return { receivedBytes: whole ? 0 : end(await partsOf(db, viewer, id)), whole };
}

type KeptPart = Awaited<ReturnType<typeof partsOf>>[number];

const end = (parts: readonly KeptPart[]): number => parts.reduce((sum, part) => sum + part.size_bytes, 0);

const partsOf = (db: Database, viewer: Viewer, id: string) =>
  db
    .selectFrom('photo_part')
    .$call(seenBy(viewer, 'photo_part'))
    .select(['instrument_id', 'size_bytes', 'total_bytes', 'whole_sha256'])
    .where('photo_id', '=', id)
    .orderBy('from_byte')
    .execute();

async function forget(db: Database, id: string): Promise<void> {
  await db.deleteFrom('photo_part').where('photo_id', '=', id).execute();
}

/** What nobody goes on with is forgotten, all of it or nothing: the rest of a photo without its beginning is of no use. */
async function tidy(db: Database, viewer: Viewer, at: string, nowMs: number): Promise<void> {
  await db
    .deleteFrom('photo_part')
    .where('photo_id', 'not in', ({ selectFrom }) =>
      selectFrom('photo_part')
        .select('photo_id')
        .where('received_ms', '>=', nowMs - keptMs),
    )
    .execute();
  const photos = await db
    .selectFrom('photo_part')
    .$call(seenBy(viewer, 'photo_part'))
    .select(({ fn }) => [
      'photo_id',
      fn.sum<number>('size_bytes').as('size'),
      fn.max('received_ms').as('last_ms'),
    ])
    .groupBy('photo_id')
    .orderBy('last_ms', 'desc')
    .execute();
  let sum = 0;
  for (const photo of photos) {
    sum += Number(photo.size);
    if (sum > keptBytes && photo.photo_id !== at) await forget(db, photo.photo_id);
  }
}

/**
 * Keeps a part; with the last one the photo is whole and is kept as any other.
 * @throws PhotoTooLarge, NotFound, Contradiction, NotAPicture (also when the whole is not what its digest says)
 */
export async function putPart(
  db: Database,
  viewer: Viewer,
  place: PhotoPlace,
  part: PhotoPart,
  nowMs: number,
): Promise<PhotoReceipt | PhotoReceived> {
  const { instrumentId, id } = place;
  const { fromByte, totalBytes, wholeSha256, bytes } = part;
  if (totalBytes > photoLimitBytes) throw new PhotoTooLarge();
  const received = await db.transaction().execute(async (trx) => {
    await mustBeKnown(trx, viewer, 'instrument', instrumentId);
    let parts = await partsOf(trx, viewer, id);
    const goesOn = (one: KeptPart) =>
      one.instrument_id === instrumentId &&
      one.total_bytes === totalBytes &&
      (one.whole_sha256 === null || wholeSha256 === null || one.whole_sha256 === wholeSha256);
    if (!parts.every(goesOn)) {
      // Parts of two pictures would make none.
      await forget(trx, id);
      parts = [];
    }
    const here = end(parts);
    // Too early or too late: the answer says where to go on.
    if (fromByte !== here || bytes.length === 0) return here;
    await trx
      .insertInto('photo_part')
      .values({
        photo_id: id,
        organisation_id: viewer.organisationId,
        instrument_id: instrumentId,
        from_byte: fromByte,
        size_bytes: bytes.length,
        total_bytes: totalBytes,
        whole_sha256: wholeSha256,
        received_ms: nowMs,
        bytes,
      })
      .execute();
    await tidy(trx, viewer, id, nowMs);
    return here + bytes.length;
  });
  if (received < totalBytes) return { receivedBytes: received, whole: await photoIsKept(db, viewer, id) };
  return keepWhole(db, viewer, place, wholeSha256, nowMs);
}

async function keepWhole(
  db: Database,
  viewer: Viewer,
  place: PhotoPlace,
  wholeSha256: string | null,
  nowMs: number,
): Promise<PhotoReceipt | PhotoReceived> {
  const rows = await db
    .selectFrom('photo_part')
    .$call(seenBy(viewer, 'photo_part'))
    .select('bytes')
    .where('photo_id', '=', place.id)
    .orderBy('from_byte')
    .execute();
  const bytes = Buffer.concat(rows.map((row) => row.bytes));
  try {
    const sha256 = createHash('sha256').update(bytes).digest('hex');
    if (wholeSha256 !== null && sha256 !== wholeSha256) {
      throw new NotAPicture('photo: what came is not what its digest says; send it again');
    }
    return await putPhoto(db, viewer, { ...place, bytes }, nowMs);
  } finally {
    await forget(db, place.id);
  }
}
