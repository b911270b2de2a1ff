/** How each gateway's payloads are read: a profile as JSON; null is SenML. */
import { type Kysely, sql } from 'kysely';
import type { Records } from '../schema.ts';

export async function up(db: Kysely<Records>): Promise<void> {
  await sql.raw('ALTER TABLE gateway ADD COLUMN profile TEXT').execute(db);
}
