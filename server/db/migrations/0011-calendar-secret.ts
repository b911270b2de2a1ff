/** The secret in a person's calendar link, as a hash: it is shown once, and renewed without touching other links. */
import { type Kysely, sql } from 'kysely';
import type { Records } from '../schema.ts';

export async function up(db: Kysely<Records>): Promise<void> {
  await sql.raw('ALTER TABLE person ADD COLUMN calendar_hash TEXT').execute(db);
  await sql.raw('ALTER TABLE person ADD COLUMN calendar_made_ms BIGINT').execute(db);
}
