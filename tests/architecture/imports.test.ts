/** Imports point one way. What the compiler projects already refuse is repeated here in words; the order inside server is only here. */
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';

const root = path.resolve(import.meta.dirname, '../..');

interface Import {
  /** Both from the root: server/http/app.ts, ingest/index.ts; or a package's name. */
  readonly from: string;
  readonly to: string;
}

function sources(folder: string): string[] {
  return readdirSync(path.join(root, folder), { recursive: true, encoding: 'utf8' })
    .map((file) => path.posix.join(folder, file.split(path.sep).join('/')))
    .filter((file) => /\.tsx?$/.test(file) && !file.includes('node_modules'));
}

/** Every specifier of `import … from`, `export … from`, `import '…'` and `import(…)`. */
function importsIn(file: string, text: string): Import[] {
  const found = text.matchAll(/(?:\bfrom\s*|\bimport\s*\(?\s*)['"]([^'"\s]+)['"]/g);
  return [...found].map(([, specifier = '']) => ({
    from: file,
    to: specifier.startsWith('.') ? path.posix.join(path.posix.dirname(file), specifier) : specifier,
  }));
}

const importsOf = (folder: string): Import[] =>
  sources(folder).flatMap((file) => importsIn(file, readFileSync(path.join(root, file), 'utf8')));

const isOurs = (to: string): boolean => /^(ingest|server|web|tests|demo-data)\//.test(to);
const sayAll = (imports: readonly Import[]): string[] => imports.map(({ from, to }) => `${from} -> ${to}`);

/** Each folder of server may import from those in earlier groups only. */
const order = [
  ['contract', 'science', 'db'],
  ['registry'],
  ['series'],
  ['visits'],
  ['drift'],
  ['watch'],
  ['reports'],
  ['auth', 'http'],
  ['manage'],
];
/** Files straight in server/ that any folder may use: they hold nothing of the domain. */
const common = ['server/log.ts'];

const levelOf = (file: string): number => {
  const [, folder = ''] = /^server\/([^/]+)\//.exec(file) ?? [];
  return order.findIndex((group) => group.includes(folder));
};

function wrongInServer(imports: readonly Import[]): Import[] {
  return imports.filter(({ from, to }) => {
    const level = levelOf(from);
    if (level < 0 || !to.startsWith('server/') || common.includes(to)) return false;
    const [a, b] = [from, to].map((file) => file.split('/')[1]);
    if (a === b) return false;
    // The commands of `manage` are called by server/manage.ts and use its types.
    if (a === 'manage' && levelOf(to) < 0) return false;
    return levelOf(to) < 0 || levelOf(to) >= level;
  });
}

describe('imports', () => {
  test('ingest imports nothing of ours', () => {
    const wrong = importsOf('ingest').filter(({ to }) => isOurs(to) && !to.startsWith('ingest/'));
    expect(sayAll(wrong)).toEqual([]);
  });

  test('everyone else reaches ingest through ingest/index.ts', () => {
    const wrong = ['server', 'demo-data', 'web']
      .flatMap(importsOf)
      .filter(({ to }) => to.startsWith('ingest/') && to !== 'ingest/index.ts');
    expect(sayAll(wrong)).toEqual([]);
  });

  test('the contract imports zod and nothing else; science imports nothing of ours', () => {
    const contract = importsOf('server/contract').filter(
      ({ to }) => !to.startsWith('server/contract/') && !/^zod(\/|$)/.test(to),
    );
    const science = importsOf('server/science').filter(
      ({ to }) => isOurs(to) && !to.startsWith('server/science/'),
    );
    expect(sayAll([...contract, ...science])).toEqual([]);
  });

  test('web talks to the contract only', () => {
    const wrong = importsOf('web').filter(
      ({ to }) => isOurs(to) && !to.startsWith('web/') && !to.startsWith('server/contract/'),
    );
    expect(sayAll(wrong)).toEqual([]);
  });

  test('folders of server import only from those above them', () => {
    expect(sayAll(wrongInServer(importsOf('server')))).toEqual([]);
  });

  test('every folder of server has a place in the order', () => {
    const folders = new Set(sources('server').flatMap((file) => /^server\/([^/]+)\//.exec(file)?.[1] ?? []));
    expect([...folders].filter((folder) => !order.flat().includes(folder))).toEqual([]);
  });

  test('this test bites: wrong imports are found', () => {
    const planted = importsIn(
      'server/registry/rooms.ts',
      "import { x } from '../watch/calls.ts';\nawait import('../http/app.ts');",
    );
    expect(sayAll(wrongInServer(planted))).toHaveLength(2);
    const allowed = importsIn(
      'server/watch/calls.ts',
      "import { x } from '../registry/rooms.ts';\nexport * from './rules/rule.ts';",
    );
    expect(wrongInServer(allowed)).toEqual([]);
  });
});
