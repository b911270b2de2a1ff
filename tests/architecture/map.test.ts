/** The map in DEVELOPERS.md shows the house as it stands: no folder missing, none that is only drawn. */
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { expect, test } from 'vitest';

const root = path.resolve(import.meta.dirname, '../..');
const drawnParts = ['ingest', 'server', 'web', 'tests', 'demo-data'];

/** Folders named in the map, from its indentation: two spaces a level, names ending in a slash. */
function foldersDrawn(text: string): string[] {
  const [, map = ''] = /```map\n([\s\S]*?)```/.exec(text) ?? [];
  const above: string[] = [];
  return map.split('\n').flatMap((line) => {
    const [, indent = '', name] = /^( *)([\w.-]+)\/(?: |$)/.exec(line) ?? [];
    if (name === undefined) return [];
    above.length = indent.length / 2;
    above.push(name);
    return [above.join('/')];
  });
}

function foldersStanding(folder: string): string[] {
  const inside = readdirSync(path.join(root, folder), { withFileTypes: true }).filter((one) =>
    one.isDirectory(),
  );
  return [folder, ...inside.flatMap((one) => foldersStanding(`${folder}/${one.name}`))];
}

const isEmpty = (folder: string): boolean => readdirSync(path.join(root, folder)).length === 0;

test('the map and the folders agree', () => {
  const drawn = foldersDrawn(readFileSync(path.join(root, 'DEVELOPERS.md'), 'utf8'));
  const standing = drawnParts.flatMap(foldersStanding).filter((folder) => !isEmpty(folder));
  expect(drawn.toSorted()).toEqual(standing.toSorted());
});

test('the reading of the map bites', () => {
  expect(foldersDrawn('```map\na/  one\n  b/  two\n    c/\n  d/\n```')).toEqual(['a', 'a/b', 'a/b/c', 'a/d']);
});

test('the top level holds what was agreed and nothing else', () => {
  const agreed = [
    ...[
      'README.md',
      'DEVELOPERS.md',
      'package.json',
      'package-lock.json',
      'tsconfig.json',
      'docker-compose.yml',
    ],
    ...drawnParts,
  ];
  const standing = readdirSync(root).filter((name) => !name.startsWith('.') && name !== 'node_modules');
  expect(standing.toSorted()).toEqual(agreed.toSorted());
});
