/**
 * How far the heap may grow over what lives in it before old space is collected. By its own reckoning V8 lets a small
 * heap grow to four times that, which on a small machine is memory others could use, taken and given back in waves.
 */
import { setFlagsFromString } from 'node:v8';

const percent = 40;

/** Call once, before anything else is begun. */
export function boundHeap(): void {
  setFlagsFromString(`--heap-growing-percent=${percent}`);
}
