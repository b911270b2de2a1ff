/** What is known of sensors beyond their readings: calibrations, readings in doubt, and by which gateways they come. */
import { type Kysely, sql } from 'kysely';
import type { Records } from '../schema.ts';

const tables = [
  // Applied when readings are read, from `from_ms` on; never changed, only corrected by a later entry.
  `CREATE TABLE calibration (
     id TEXT PRIMARY KEY, organisation_id TEXT NOT NULL REFERENCES organisation(id),
     sensor_id TEXT NOT NULL REFERENCES sensor(id), from_ms BIGINT NOT NULL, kind TEXT NOT NULL,
     gain DOUBLE PRECISION NOT NULL, offset_pct DOUBLE PRECISION NOT NULL, offset_c DOUBLE PRECISION NOT NULL,
     body TEXT NOT NULL, corrects TEXT REFERENCES calibration(id), made_ms BIGINT NOT NULL)`,
  `CREATE INDEX calibration_sensor ON calibration (sensor_id, from_ms)`,
  // Readings that are kept and shown as they came, but out of everything that is computed.
  `CREATE TABLE doubt (
     sensor_id TEXT NOT NULL REFERENCES sensor(id), organisation_id TEXT NOT NULL REFERENCES organisation(id),
     from_ms BIGINT NOT NULL, until_ms BIGINT NOT NULL, reason TEXT NOT NULL,
     PRIMARY KEY (sensor_id, from_ms))`,
  `CREATE TABLE heard_by (
     organisation_id TEXT NOT NULL REFERENCES organisation(id), urn TEXT NOT NULL,
     gateway_id TEXT NOT NULL REFERENCES gateway(id), first_ms BIGINT NOT NULL, last_ms BIGINT NOT NULL,
     least_age_ms BIGINT NOT NULL, age_since_ms BIGINT NOT NULL,
     PRIMARY KEY (organisation_id, urn, gateway_id))`,
];

export async function up(db: Kysely<Records>): Promise<void> {
  for (const one of tables) await sql.raw(one).execute(db);
}
