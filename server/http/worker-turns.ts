/** Which of the workers listens to what their broker says of itself: one at a time, until it is not heard of any more. */

/** Three times as long as a worker waits before it asks again. */
const heldMs = 30_000;

export interface Turns {
  /** Whether it is this one's turn, which it then keeps for a while. */
  takes(worker: string): boolean;
}

/** @param ticks a clock that nobody sets @param taken the service itself listens */
export function createTurns(ticks: () => number, taken: boolean): Turns {
  let holder: { readonly worker: string; readonly untilTick: number } | null = null;
  return {
    takes(worker) {
      if (taken) return false;
      if (holder && holder.worker !== worker && ticks() < holder.untilTick) return false;
      holder = { worker, untilTick: ticks() + heldMs };
      return true;
    },
  };
}
