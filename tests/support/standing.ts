/** What stands while tests run: made before them, undone after them, what came last first. */
import { beforeAll, beforeEach } from 'vitest';

/** Has something undone after the tests, also where the making failed half-way. */
export type Undo = (step: () => unknown) => void;
type Make<Made> = (undo: Undo) => Promise<Made>;

/** @returns what was made. It can be named at once, and is there once the tests begin. */
function standingBy<Made extends object>(
  hook: typeof beforeAll | typeof beforeEach,
  make: Make<Made>,
  withinMs: number,
): Made {
  let made: Made | null = null;
  hook(async () => {
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
    ownKeys() {
      throw new Error('what stands is named part by part: a copy of it would be empty');
    },
  });
}

/** One for all tests of the describe or file it is called in. */
export const standing = <Made extends object>(make: Make<Made>, withinMs = 120_000): Made =>
  standingBy(beforeAll, make, withinMs);

/** Another for each test. */
export const standingAnew = <Made extends object>(make: Make<Made>, withinMs = 60_000): Made =>
  standingBy(beforeEach, make, withinMs);
