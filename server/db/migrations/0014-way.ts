/** How long it takes to get to a venue; null: not said. */
import { type Kysely, sql } from 'kysely';
import type { Records } from '../schema.ts';

export async function up(db: Kysely<Records>): Promise<void> {
  await sql.raw('ALTER TABLE venue ADD COLUMN way_minutes INTEGER').execute(db);
}
