/** Seeded randomness: the same seed gives the same paths, so that two runs can be compared draw by draw. */

export interface Random {
  /** Uniform in [0, 1). */
  uniform(): number;
  /** Standard normal. */
  normal(): number;
}

/**
 * @param seed any finite number; close seeds give unrelated streams.
 * @source Doty-Moody-sfc32
 */
export function seededRandom(seed: number): Random {
  if (!Number.isFinite(seed)) throw new RangeError('seed: must be a finite number');
  let a = 0x9e3779b9 ^ Math.floor(seed);
  let b = 0x243f6a88 ^ Math.floor(seed / 4294967296);
  let c = 0xb7e15162;
  let counter = 1;
  const next = (): number => {
    const sum = (((a + b) | 0) + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = (c << 21) | (c >>> 11) | 0;
    c = (c + sum) | 0;
    return sum >>> 0;
  };
  for (let i = 0; i < 15; i++) next();

  let spare = 0;
  let hasSpare = false;
  return {
    uniform: () => (next() * 2097152 + (next() >>> 11)) / 9007199254740992,
    // Marsaglia's polar method gives two at a time.
    normal: () => {
      if (hasSpare) {
        hasSpare = false;
        return spare;
      }
      for (;;) {
        const u = next() / 2147483648 - 1;
        const v = next() / 2147483648 - 1;
        const square = u * u + v * v;
        if (square > 0 && square < 1) {
          const scale = Math.sqrt((-2 * Math.log(square)) / square);
          spare = v * scale;
          hasSpare = true;
          return u * scale;
        }
      }
    },
  };
}

/** A draw from the chi-squared law with few whole degrees of freedom, divided by them: the mixing variable of Student's t. */
export function meanSquare(random: Random, degrees: number): number {
  let sum = 0;
  for (let i = 0; i < degrees; i++) sum += random.normal() ** 2;
  return sum / degrees;
}
