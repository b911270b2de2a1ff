// Builds what the scripts run, only where sources are newer than the output: `tsc -b` knows that itself,
// the web bundle is compared by file time. Node 20 cannot run TypeScript, so every script comes through here.
import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync, statSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';

const root = path.resolve(import.meta.dirname, '..');
const require = createRequire(import.meta.url);

/** Newest modification time below a folder or of a file, in ms; 0 where there is none. */
function newestMs(target) {
  if (!existsSync(target)) return 0;
  const info = statSync(target);
  if (!info.isDirectory()) return info.mtimeMs;
  return readdirSync(target).reduce((newest, name) => Math.max(newest, newestMs(path.join(target, name))), 0);
}

function run(binary, args) {
  const { status } = spawnSync(process.execPath, [binary, ...args], { cwd: root, stdio: 'inherit' });
  if (status !== 0) process.exit(status ?? 1);
}

const bin = (name, file) => path.join(path.dirname(require.resolve(`${name}/package.json`)), file);

run(bin('typescript', 'bin/tsc'), ['-b', 'server', 'demo-data']);

const sources = ['web', 'server/contract', 'package.json'].map((name) => newestMs(path.join(root, name)));
if (Math.max(...sources) > newestMs(path.join(root, '.build/web/index.html'))) {
  run(bin('vite', 'bin/vite.js'), ['build', 'web', '--config', 'web/vite.config.ts', '--logLevel', 'warn']);
}
