/**
 * Every `@source` key in the science and its checks stands in SOURCES.md, and every key there is used.
 */
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';

const root = path.resolve(import.meta.dirname, '../..');

function sourceFiles(folder: string): string[] {
  return readdirSync(path.join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter((file) => file.endsWith('.ts'))
    .map((file) => path.join(root, folder, file));
}

const KEY = /@source\s+([A-Za-z][A-Za-z0-9-]*)/g;
const used = sourceFiles('server/science').flatMap((file) =>
  [...readFileSync(file, 'utf8').matchAll(KEY)].map(([, key = '']) => ({
    key,
    file: path.relative(root, file),
  })),
);
/** Rows of the tables: | key | citation | how known | */
const rows = readFileSync(path.join(root, 'server/science/SOURCES.md'), 'utf8')
  .split('\n')
  .map((line) => line.split('|').map((cell) => cell.trim()))
  .filter((cells) => cells.length === 5 && /^`[A-Za-z][A-Za-z0-9-]*`$/.test(cells[1] ?? ''))
  .map(([, key = '', citation = '', known = '']) => ({ key: key.replaceAll('`', ''), citation, known }));

describe('SOURCES.md', () => {
  test('the science names its sources', () => expect(used.length).toBeGreaterThan(20));
  test('knows every key used', () => {
    const known = new Set(rows.map(({ key }) => key));
    expect(used.filter(({ key }) => !known.has(key))).toEqual([]);
  });
  test('has no key that nothing uses', () => {
    const keys = new Set(used.map(({ key }) => key));
    expect(rows.filter(({ key }) => !keys.has(key)).map(({ key }) => key)).toEqual([]);
  });
  test('has no key twice', () => {
    expect(new Set(rows.map(({ key }) => key)).size).toBe(rows.length);
  });
  test('gives a full citation, and says whether the value was read, recalled or worked out', () => {
    for (const { key, citation, known } of rows) {
      expect(citation.length, key).toBeGreaterThan(25);
      expect(known, key).toMatch(/^(read|recalled|practice)/);
    }
  });
});
