/** The tables of records.db as Kysely sees them. Every row carries its organisation; times are UTC epoch milliseconds. */
import type { DriftTables } from './tables/drift.ts';
import type { MessageTables } from './tables/notify.ts';
import type { RegistryTables } from './tables/registry.ts';
import type { SeriesTables } from './tables/series.ts';
import type { VisitTables } from './tables/visits.ts';
import type { WatchTables } from './tables/watch.ts';

export interface Records
  extends RegistryTables,
    VisitTables,
    SeriesTables,
    DriftTables,
    WatchTables,
    MessageTables {
  secret: { name: string; value: string };
}
