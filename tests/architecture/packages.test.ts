/** What we stand on runs where we say we run, and only what must may run a script at install. */
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { minVersion, satisfies } from 'semver';
import { expect, test } from 'vitest';

const root = path.resolve(import.meta.dirname, '../..');
const readJson = (file: string) => JSON.parse(readFileSync(path.join(root, file), 'utf8'));

interface Locked {
  readonly engines?: { readonly node?: string };
  readonly hasInstallScript?: boolean;
  readonly optional?: boolean;
}

const packages = Object.entries(readJson('package-lock.json').packages as Record<string, Locked>).filter(
  ([name]) => name !== '',
);

test('every dependency admits the Node we declare', () => {
  const { engines } = readJson('package.json');
  const declared = minVersion(engines.node)?.version ?? '';
  expect(declared).toBe('20.19.0');
  const refusing = packages.filter(([, one]) => !satisfies(declared, one.engines?.node ?? '*'));
  expect(refusing.map(([name, one]) => `${name} wants ${one.engines?.node}`)).toEqual([]);
});

test('only the packages named in allowScripts have install scripts', () => {
  const allowed = Object.keys(readJson('package.json').allowScripts);
  const scripted = packages
    .filter(([, one]) => one.hasInstallScript && !one.optional)
    .map(([name]) => name.replace(/^.*node_modules\//, ''));
  expect(scripted.toSorted()).toEqual(allowed.toSorted());
});

test('versions are exact, so that a fresh install is this one', () => {
  const { dependencies, devDependencies } = readJson('package.json');
  const loose = Object.entries({ ...dependencies, ...devDependencies }).filter(([, version]) =>
    /^[~^><*]/.test(String(version)),
  );
  expect(loose).toEqual([]);
});
