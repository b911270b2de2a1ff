/** The numbers series go by in the file. They never change, so each is asked for once. */
import type { Database } from 'better-sqlite3';
import type { SeriesId } from '../reading.ts';

export interface SeriesNumbers {
  /** undefined: nothing was ever stored of it. */
  numberOf(id: SeriesId): number | undefined;
  named(number: number): SeriesId | undefined;
}

export function seriesIn(db: Database): SeriesNumbers {
  const find = db
    .prepare<[string, string], number>('select id from series where organisation = ? and sensor = ?')
    .pluck();
  const name = db.prepare<[number], SeriesId>('select organisation, sensor from series where id = ?');
  const numbers = new Map<string, Map<string, number>>();
  const names = new Map<number, SeriesId>();
  return {
    numberOf({ organisation, sensor }) {
      const known = numbers.get(organisation)?.get(sensor);
      if (known !== undefined) return known;
      const number = find.get(organisation, sensor);
      if (number === undefined) return undefined;
      const mine = numbers.get(organisation) ?? new Map<string, number>();
      numbers.set(organisation, mine.set(sensor, number));
      return number;
    },
    named(number) {
      const known = names.get(number);
      if (known) return known;
      const id = name.get(number);
      if (id) names.set(number, id);
      return id;
    },
  };
}
