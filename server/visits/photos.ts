/** Photos under the id the device made. They may come before or after the visit that names them. */
import { createHash } from 'node:crypto';
import type { PhotoReceipt } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { mustBeKnown } from '../registry/known.ts';
import { Contradiction, NotFound, seenBy, type Viewer } from '../registry/viewer.ts';
import { pictureFrom } from './picture.ts';

/** Where a photo belongs, and the id the device gave it. */
export interface PhotoPlace {
  readonly instrumentId: string;
  readonly id: string;
}

/** Of another organisation's photo nothing is told. */
export async function photoIsKept(db: Database, viewer: Viewer, id: string): Promise<boolean> {
  const row = await db
    .selectFrom('photo')
    .$call(seenBy(viewer, 'photo'))
    .select('id')
    .where('id', '=', id)
    .executeTakeFirst();
  return row !== undefined;
}

/**
 * Keeps a photo; the same one again changes nothing.
 * @throws NotFound, Contradiction (another picture under this id), NotAPicture
 */
export async function putPhoto(
  db: Database,
  viewer: Viewer,
  { instrumentId, id, bytes }: PhotoPlace & { readonly bytes: Uint8Array },
  nowMs: number,
): Promise<PhotoReceipt> {
  await mustBeKnown(db, viewer, 'instrument', instrumentId);
  const sha256 = createHash('sha256').update(bytes).digest('hex');
  const before = await keptAs(db, viewer, id, sha256, instrumentId);
  if (before) return before;
  const picture = await pictureFrom(bytes);
  return db.transaction().execute(async (trx) => {
    // It may have come twice at once.
    const meanwhile = await keptAs(trx, viewer, id, sha256, instrumentId);
    if (meanwhile) return meanwhile;
    await trx
      .insertInto('photo')
      .values({
        id,
        organisation_id: viewer.organisationId,
        instrument_id: instrumentId,
        received_ms: nowMs,
        sent_sha256: sha256,
        width_px: picture.widthPx,
        height_px: picture.heightPx,
      })
      .execute();
    await trx
      .insertInto('photo_bytes')
      .values({
        photo_id: id,
        organisation_id: viewer.organisationId,
        large: picture.large,
        small: picture.small,
      })
      .execute();
    return { id, sha256, widthPx: picture.widthPx, heightPx: picture.heightPx };
  });
}

async function keptAs(
  db: Database,
  viewer: Viewer,
  id: string,
  sha256: string,
  instrumentId: string,
): Promise<PhotoReceipt | null> {
  const kept = await db.selectFrom('photo').selectAll().where('id', '=', id).executeTakeFirst();
  if (!kept) return null;
  if (kept.organisation_id !== viewer.organisationId) throw new NotFound('id', 'id: no such photo');
  if (kept.sent_sha256 !== sha256 || kept.instrument_id !== instrumentId) {
    throw new Contradiction('id', 'id: another photo was sent under this id');
  }
  return { id, sha256, widthPx: kept.width_px, heightPx: kept.height_px };
}

/** @throws NotFound, also while the device has yet to send it. */
export async function photoBytes(
  db: Database,
  viewer: Viewer,
  id: string,
  size: 'large' | 'small',
): Promise<Buffer> {
  const row = await db
    .selectFrom('photo_bytes')
    .$call(seenBy(viewer, 'photo_bytes'))
    .select(size)
    .where('photo_id', '=', id)
    .executeTakeFirst();
  const bytes = row && (row as Partial<Record<'large' | 'small', Uint8Array>>)[size];
  if (!bytes) throw new NotFound('id', 'id: no such photo');
  return Buffer.from(bytes);
}
