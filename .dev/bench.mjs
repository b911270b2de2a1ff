// Runs tests/bench/NAME.ts, or all of them: `npm run bench -- science`. Bundled first, as Node 20 reads no TypeScript.
// Each bench prints its figures and sets the exit code where it misses its target.
import { spawnSync } from 'node:child_process';
import { readdirSync } from 'node:fs';
import path from 'node:path';
import { build } from 'vite';

const root = path.resolve(import.meta.dirname, '..');
const folder = path.join(root, 'tests/bench');
const outDir = path.join(root, '.build/bench');
const known = readdirSync(folder)
  .filter((file) => file.endsWith('.ts'))
  .map((file) => path.basename(file, '.ts'));
const asked = process.argv.slice(2);
const unknown = asked.filter((name) => !known.includes(name));
if (unknown.length > 0) {
  console.error(`No bench named ${unknown.join(', ')}; there are ${known.join(', ')}.`);
  process.exit(1);
}

for (const name of asked.length > 0 ? asked : known) {
  await build({
    root,
    configFile: false,
    logLevel: 'warn',
    build: {
      ssr: path.join(folder, `${name}.ts`),
      outDir,
      emptyOutDir: false,
      minify: false,
      target: 'node20',
    },
  });
  console.log(`\n${name}`);
  // A process of its own: what one bench leaves in the heap and the compiler does not slow the next.
  const { status } = spawnSync(process.execPath, ['--expose-gc', path.join(outDir, `${name}.js`)], {
    stdio: 'inherit',
  });
  if (status !== 0) process.exitCode = status ?? 1;
}
