/** The tenant. A fresh service has one; more come with accounts. */
import { randomUUID } from 'node:crypto';
import type { Database } from '../db/database.ts';
import type { Viewer } from './viewer.ts';

/** The viewer of the first organisation, which is made when there is none. */
export async function firstOrganisation(db: Database, nowMs: number): Promise<Viewer> {
  const found = await db.selectFrom('organisation').select('id').orderBy('created_ms').executeTakeFirst();
  if (found) return { organisationId: found.id };
  const id = randomUUID();
  await db.insertInto('organisation').values({ id, name: 'My pianos', created_ms: nowMs }).execute();
  return { organisationId: id };
}

export async function allOrganisations(db: Database): Promise<Viewer[]> {
  const rows = await db.selectFrom('organisation').select('id').execute();
  return rows.map((row) => ({ organisationId: row.id }));
}
