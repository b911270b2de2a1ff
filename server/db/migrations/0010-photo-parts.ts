/** Photos that came in part: what is there of them, until they are whole. */
import type { Kysely } from 'kysely';
import type { Records } from '../schema.ts';

export async function up(db: Kysely<Records>): Promise<void> {
  await db.schema
    .createTable('photo_part')
    .addColumn('photo_id', 'text', (column) => column.notNull())
    .addColumn('organisation_id', 'text', (column) => column.notNull().references('organisation.id'))
    .addColumn('instrument_id', 'text', (column) => column.notNull().references('instrument.id'))
    .addColumn('from_byte', 'integer', (column) => column.notNull())
    .addColumn('size_bytes', 'integer', (column) => column.notNull())
    .addColumn('total_bytes', 'integer', (column) => column.notNull())
    .addColumn('whole_sha256', 'text')
    .addColumn('received_ms', 'bigint', (column) => column.notNull())
    .addColumn('bytes', 'blob', (column) => column.notNull())
    .addPrimaryKeyConstraint('photo_part_key', ['photo_id', 'from_byte'])
    .execute();
}
