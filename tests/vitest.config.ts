import path from 'node:path';
import { defineConfig } from 'vitest/config';

export default defineConfig({
  root: path.resolve(import.meta.dirname, '..'),
  test: {
    include: ['tests/**/*.test.ts'],
    // Two cores: real brokers, databases and a browser run beside the tests, and a third worker gains nothing.
    maxWorkers: 2,
    testTimeout: 60_000,
    hookTimeout: 60_000,
    // A page on a busy machine may take longer than the library's one second to draw what is asked.
    expect: { poll: { timeout: 20_000, interval: 50 } },
    reporters: ['default', './tests/closing-line.ts'],
  },
});
