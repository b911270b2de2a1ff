/**
 * Statements are prepared once and used again: what the pages and the watch ask is some hundreds of sentences, asked
 * over and over, and preparing one often costs more than running it.
 */
import type SQLite from 'better-sqlite3';
import type { SqliteDatabase } from 'kysely';

/** Those used last; longer ones differ by how many rows they write and seldom come again. */
const held = 300;
const longest = 4_000;

export function withStatements(sqlite: SQLite.Database): SqliteDatabase {
  const statements = new Map<string, SQLite.Statement>();
  return {
    close: () => sqlite.close(),
    prepare(sql) {
      const known = statements.get(sql);
      const statement = known ?? sqlite.prepare(sql);
      if (sql.length > longest) return statement;
      // The oldest stand first.
      if (known) statements.delete(sql);
      statements.set(sql, statement);
      if (statements.size > held) {
        const [oldest] = statements.keys();
        if (oldest !== undefined) statements.delete(oldest);
      }
      return statement;
    },
  };
}
