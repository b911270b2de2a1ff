// Faults and simulated fleets at their full count: kills, frozen engines, full disks, mutated payloads, memory, engines
// compared, fleets of 200. It takes more than an hour; `npm test` runs a part of each. `npm run soak -- faults memory`
// runs the parts named so. The last table tells of each fault what was sent, acknowledged, stored, lost and doubled.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';

const root = path.resolve(import.meta.dirname, '..');
// Alone, so that nothing else on the machine stands in its figures.
const memory = 'tests/faults/memory.test.ts';
const testsIn = (folder) =>
  readdirSync(path.join(root, folder))
    .filter((name) => name.endsWith('.test.ts'))
    .map((name) => `${folder}/${name}`);
const parts = {
  faults: testsIn('tests/faults').filter((file) => file !== memory),
  ports: testsIn('tests/ports'),
  engines: ['tests/integration/influx-service.test.ts'],
  drift: testsIn('tests/drift'),
  watch: ['tests/demo/replay.test.ts'],
};
const asked = process.argv.slice(2);
const unknown = asked.filter((name) => name !== 'memory' && !Object.hasOwn(parts, name));
if (unknown.length > 0) {
  console.error(
    `No part named ${unknown.join(', ')}; there are ${Object.keys(parts).join(', ')} and memory.`,
  );
  process.exit(1);
}
const wanted = (name) => asked.length === 0 || asked.includes(name);

const folder = mkdtempSync(path.join(tmpdir(), 'crownwatch-soak-'));
const table = path.join(folder, 'table');
const full = {
  CROWNWATCH_FULL: '1',
  SOAK_KILLS: '100',
  SOAK_MESSAGES: '100000',
  SOAK_READINGS: '2000000',
  SOAK_PAYLOADS: '1000000',
  SOAK_TABLE: table,
};
function run(files) {
  const vitest = path.join(root, 'node_modules/vitest/vitest.mjs');
  const { status } = spawnSync(
    process.execPath,
    [vitest, 'run', '--config', 'tests/vitest.config.ts', ...files],
    { cwd: root, stdio: 'inherit', env: { ...process.env, ...full } },
  );
  if (status !== 0) process.exitCode = status ?? 1;
}

const together = Object.keys(parts).filter(wanted);
if (together.length > 0) run(together.flatMap((name) => parts[name]));
if (wanted('memory')) run([memory]);

if (existsSync(table)) {
  const rows = readFileSync(table, 'utf8')
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line));
  const heads = ['sent', 'acknowledged', 'stored', 'lost', 'doubled'];
  const wide = Math.max(...rows.map(({ fault }) => fault.length));
  console.log(`\n${'fault'.padEnd(wide)}  ${heads.map((head) => head.padStart(14)).join('')}`);
  for (const row of rows) {
    const figures = heads.map((head) => row[head].toLocaleString('en').padStart(14)).join('');
    console.log(`${row.fault.padEnd(wide)}  ${figures}  ${row.more}`);
  }
}
rmSync(folder, { recursive: true });
