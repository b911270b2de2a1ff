// Faults and simulated fleets at their full count: kills, mutated payloads, engines compared, fleets of 200. It takes
// half an hour and more; `npm test` runs a part of each.
import { spawnSync } from 'node:child_process';
import path from 'node:path';

const root = path.resolve(import.meta.dirname, '..');
const full = {
  CROWNWATCH_FULL: '1',
  SOAK_KILLS: '100',
  SOAK_MESSAGES: '100000',
  SOAK_READINGS: '2000000',
  SOAK_PAYLOADS: '1000000',
};
const parts = ['tests/drift', 'tests/faults', 'tests/ports', 'tests/integration/influx-service.test.ts'];
const vitest = path.join(root, 'node_modules/vitest/vitest.mjs');
const { status } = spawnSync(
  process.execPath,
  [vitest, 'run', '--config', 'tests/vitest.config.ts', ...parts],
  { cwd: root, stdio: 'inherit', env: { ...process.env, ...full } },
);
process.exit(status ?? 1);
