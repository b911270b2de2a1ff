/** Up to when somebody has looked at what was set aside; null: never. What comes later is new again. */
import { type Kysely, sql } from 'kysely';
import type { Records } from '../schema.ts';

export async function up(db: Kysely<Records>): Promise<void> {
  await sql.raw('ALTER TABLE refused_tally ADD COLUMN seen_ms INTEGER').execute(db);
}
