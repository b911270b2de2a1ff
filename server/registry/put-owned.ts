/** Insert or change a row under an id the caller made, never one of another organisation. */
import type { Insertable } from 'kysely';
import type { Database } from '../db/database.ts';
import type { Records } from '../db/schema.ts';
import { NotFound, type Viewer } from './viewer.ts';

type Owned = 'venue' | 'room' | 'instrument' | 'placement';

/** @throws NotFound when the id belongs to another organisation: it must look as if it were absent. */
export async function putOwned<Table extends Owned>(
  db: Database,
  viewer: Viewer,
  table: Table,
  row: Omit<Insertable<Records[Table]>, 'organisation_id'>,
): Promise<void> {
  const full = { ...row, organisation_id: viewer.organisationId };
  // The four tables share the columns used here; Kysely cannot follow a table given as a type parameter.
  const { id, ...changes } = full as unknown as { id: string; organisation_id: string };
  const owner = await db
    .selectFrom(table as Owned)
    .select('organisation_id')
    .where('id', '=', id)
    .executeTakeFirst();
  if (owner && owner.organisation_id !== viewer.organisationId)
    throw new NotFound('id', `id: no such ${table}`);
  await db
    .insertInto(table as Owned)
    .values(full as never)
    .onConflict((conflict) => conflict.column('id').doUpdateSet(changes as never))
    .execute();
}
