/** Whether an id that somebody sent names something they may see. */
import type { Database } from '../db/database.ts';
import { NotFound, seenBy, type Viewer } from './viewer.ts';

/**
 * @param field what the id was sent as, for the sentence
 * @throws NotFound, for what is foreign as for what is absent
 */
export async function mustBeKnown(
  db: Database,
  viewer: Viewer,
  kind: 'venue' | 'room' | 'instrument' | 'sensor',
  id: string,
  field: string = `${kind}Id`,
): Promise<void> {
  const found = await db
    .selectFrom(kind)
    .$call(seenBy(viewer, kind))
    .select('id')
    .where('id', '=', id)
    .executeTakeFirst();
  if (!found) throw new NotFound(field, `${field}: no such ${kind}`);
}
