/**
 * Counts the changes to what stands where, an organisation each: whoever keeps a picture of it in memory learns with
 * one row that it is out of date, whoever wrote. What sensors last said is no such change.
 */
import { type Kysely, sql } from 'kysely';
import type { Records } from '../schema.ts';

const changes: Record<string, readonly string[]> = {
  venue: ['INSERT', 'UPDATE', 'DELETE'],
  room: ['INSERT', 'UPDATE', 'DELETE'],
  instrument: ['INSERT', 'UPDATE', 'DELETE'],
  placement: ['INSERT', 'UPDATE', 'DELETE'],
  setting: ['INSERT', 'UPDATE', 'DELETE'],
  sensor: ['INSERT', 'UPDATE OF urn', 'DELETE'],
};

export async function up(db: Kysely<Records>): Promise<void> {
  await sql
    .raw(
      'CREATE TABLE registry_change (organisation_id TEXT PRIMARY KEY NOT NULL, changes BIGINT NOT NULL) WITHOUT ROWID',
    )
    .execute(db);
  for (const [table, events] of Object.entries(changes)) {
    for (const event of events) {
      const [word = ''] = event.split(' ');
      const row = word === 'DELETE' ? 'OLD' : 'NEW';
      const trigger = `CREATE TRIGGER ${table}_${word.toLowerCase()}_counts AFTER ${event} ON ${table} BEGIN
          INSERT INTO registry_change (organisation_id, changes) VALUES (${row}.organisation_id, 1)
          ON CONFLICT (organisation_id) DO UPDATE SET changes = changes + 1;
        END`;
      await sql.raw(trigger).execute(db);
    }
  }
}
