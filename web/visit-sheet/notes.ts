/** Notes of the keyboard as a person types them: C4, A#0, Bb3. */
const steps: Readonly<Record<string, number>> = { C: 0, D: 2, E: 4, F: 5, G: 7, A: 9, B: 11 };
const names = ['A', 'A#', 'B', 'C', 'C#', 'D', 'D#', 'E', 'F', 'F#', 'G', 'G#'];

/** Key 1 (A0) to 88 (C8); NaN for what is no note of the keyboard, null for nothing. */
export function keyOf(text: string): number | null {
  const tidy = text.trim();
  if (tidy === '') return null;
  const match = /^([A-Ga-g])([#♯b♭]?)(\d)$/.exec(tidy);
  const step = match?.[1] === undefined ? undefined : steps[match[1].toUpperCase()];
  if (!match || step === undefined) return Number.NaN;
  const shift = match[2] === '' ? 0 : match[2] === '#' || match[2] === '♯' ? 1 : -1;
  const key = Number(match[3]) * 12 + step + shift - 8;
  return key >= 1 && key <= 88 ? key : Number.NaN;
}

export const noteName = (key: number): string =>
  `${names[(key - 1) % 12] ?? ''}${Math.floor((key + 8) / 12)}`;
