import path from 'node:path';
import { defineConfig } from 'vitest/config';

const inProcess = ['architecture', 'drift', 'published', 'scenarios'].map(
  (folder) => `tests/${folder}/**/*.test.ts`,
);

export default defineConfig({
  root: path.resolve(import.meta.dirname, '..'),
  test: {
    // Two cores: real brokers, databases and a browser run beside the tests, and a third worker gains nothing.
    maxWorkers: 2,
    // What is awaited says itself what was missing, sooner; a machine under load takes ten times as long.
    testTimeout: 180_000,
    hookTimeout: 180_000,
    // A page on a busy machine may take longer than the library's one second to draw what is asked.
    expect: { poll: { timeout: 20_000, interval: 50 } },
    reporters: ['default', './tests/closing-line.ts'],
    projects: [
      // They start no process and change nothing of their own: loading everything anew for each took a third of their time.
      { extends: true, test: { name: 'in process', include: inProcess, isolate: false } },
      { extends: true, test: { name: 'whole', include: ['tests/**/*.test.ts'], exclude: inProcess } },
    ],
  },
});
