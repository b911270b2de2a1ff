/** Ends a run with one plain line that any script can read: "N passed, N failed, N skipped". */
import type { Reporter, TestModule } from 'vitest/node';

export default class ClosingLine implements Reporter {
  onTestRunEnd(modules: readonly TestModule[], errors: readonly unknown[]): void {
    const tally = { passed: 0, failed: errors.length, skipped: 0 };
    for (const module of modules) {
      const before = tally.failed;
      for (const test of module.children.allTests()) {
        const { state } = test.result();
        tally[state === 'pending' ? 'failed' : state] += 1;
      }
      if (module.state() === 'failed' && tally.failed === before) tally.failed += 1;
    }
    // The default reporter prints its own summary first; this line comes last.
    process.on('exit', () => {
      console.log(`${tally.passed} passed, ${tally.failed} failed, ${tally.skipped} skipped`);
    });
  }
}
