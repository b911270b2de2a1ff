/** What stands while the tests of a describe or of a file run: made before the first, undone after the last. */
import { beforeAll } from 'vitest';

/** Has something undone after the tests; what came last is undone first, also where the making failed half-way. */
export type Undo = (step: () => unknown) => void;

/** @returns what was made. It can be named at once, and is there once the tests begin. */
export function standing<Made extends object>(make: (undo: Undo) => Promise<Made>, withinMs = 120_000): Made {
  let made: Made | null = null;
  beforeAll(async () => {
    const steps: (() => unknown)[] = [];
    const undoAll = async () => {
      for (const step of steps.reverse()) await step();
    };
    try {
      made = await make((step) => steps.push(step));
    } catch (error) {
      await undoAll();
      throw error;
    }
    return undoAll;
  }, withinMs);
  return new Proxy({} as Made, {
    get(_, name) {
      if (!made) throw new Error(`${String(name)} is there once the tests begin`);
      return Reflect.get(made, name);
    },
  });
}
