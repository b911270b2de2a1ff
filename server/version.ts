import { readFileSync } from 'node:fs';
import path from 'node:path';

/** The version in package.json, two folders above the built file. */
export function readVersion(): string {
  const file = path.resolve(import.meta.dirname, '../../package.json');
  return (JSON.parse(readFileSync(file, 'utf8')) as { version: string }).version;
}
