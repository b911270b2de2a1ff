/** Many ids as one parameter: the statement stays the same and short, however many there are. */
import { type RawBuilder, sql } from 'kysely';

/** For `.where('id', 'in', among(ids))`. */
export const among = (ids: readonly string[]): RawBuilder<string> =>
  sql<string>`(SELECT value FROM json_each(${JSON.stringify(ids)}))`;
