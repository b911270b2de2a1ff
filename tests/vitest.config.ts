import path from 'node:path';
import { defineConfig } from 'vitest/config';

export default defineConfig({
  root: path.resolve(import.meta.dirname, '..'),
  test: {
    include: ['tests/**/*.test.ts'],
    // For two cores: a third of their time the tests wait for real brokers, databases and a browser.
    maxWorkers: 3,
    testTimeout: 60_000,
    hookTimeout: 60_000,
    // A page on a busy machine may take longer than the library's one second to draw what is asked.
    expect: { poll: { timeout: 20_000, interval: 50 } },
    reporters: ['default', './tests/closing-line.ts'],
  },
});
