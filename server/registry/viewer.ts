/**
 * Who is looking. Every query of the registry and of all that stands on it takes a viewer and is scoped by `seenBy`,
 * in this one place. Until people sign in there is one organisation, and its people see all of it.
 */
import { type SelectQueryBuilder, sql } from 'kysely';
import type { Records } from '../db/schema.ts';

export interface Viewer {
  readonly organisationId: string;
}

/** The tables a viewer may look into: all that carry an organisation. */
type Scoped = {
  [Table in keyof Records]: Records[Table] extends { organisation_id: string } ? Table : never;
}[keyof Records];

/** Narrows a query to the viewer's own rows: `db.selectFrom('room').$call(seenBy(viewer, 'room'))`. */
export function seenBy(viewer: Viewer, table: Scoped) {
  const organisation = sql.ref<string>(`${table}.organisation_id`);
  return <DB, TB extends keyof DB, O>(query: SelectQueryBuilder<DB, TB, O>): SelectQueryBuilder<DB, TB, O> =>
    query.where(organisation, '=', viewer.organisationId);
}

/** An id names nothing the viewer may see; a foreign row and an absent one look the same. */
export class NotFound extends Error {
  readonly field: string;
  constructor(field: string, sentence: string) {
    super(sentence);
    this.name = 'NotFound';
    this.field = field;
  }
}

/** What is asked contradicts what is kept. */
export class Contradiction extends Error {
  readonly field: string;
  constructor(field: string, sentence: string) {
    super(sentence);
    this.name = 'Contradiction';
    this.field = field;
  }
}
