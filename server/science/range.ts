/** Misuse is told at once, in a sentence that names the quantity; the caller's mistake never becomes a number. */
export function within(quantity: string, value: number, least: number, most: number): number {
  if (!(value >= least && value <= most)) {
    throw new RangeError(`${quantity} must be between ${least} and ${most}, got ${value}`);
  }
  return value;
}
