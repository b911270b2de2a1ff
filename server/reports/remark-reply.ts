/** What can be said at once when somebody reports something: what the air did since the tuning, and what that does. */
import type { RegisterPitch } from '../contract/index.ts';

export interface KnownOfIt {
  /** Days since it was tuned; null: no tuning is recorded. */
  readonly daysSinceTuning: number | null;
  readonly humidityThenPct: number | null;
  readonly humidityNowPct: number | null;
  readonly registers: readonly Pick<RegisterPitch, 'register' | 'offsetCents'>[];
  /** How far unisons have spread by now, cents, by what was learned of it; null where the board is not known so far back. */
  readonly unisonsCents: number | null;
}

const names = { bass: 'bass', tenor: 'tenor', middle: 'middle', treble: 'treble', top: 'top' } as const;

/** "+12 points of humidity since the tuning 40 days ago; tenor about 6 cents flat, unisons about 3." */
export function replyTo(known: KnownOfIt): string {
  const { daysSinceTuning: days, humidityThenPct: then, humidityNowPct: now } = known;
  if (days === null) return 'Kept. No tuning is recorded yet, so nothing can be said of its pitch.';
  const parts: string[] = [];
  const ago = days < 1 ? 'today' : `${Math.round(days)} ${Math.round(days) === 1 ? 'day' : 'days'} ago`;
  const change = then === null || now === null ? null : now - then;
  if (change !== null) {
    const size = Math.abs(Math.round(change));
    const sign = size === 0 ? '' : change > 0 ? '+' : '\u2212';
    parts.push(`${sign}${size} ${size === 1 ? 'point' : 'points'} of humidity since the tuning ${ago}`);
  } else {
    parts.push(`tuned ${ago}; the humidity of then or now is not known`);
  }
  const heard = known.registers
    .flatMap(({ register, offsetCents }) => (offsetCents === null ? [] : [{ register, offsetCents }]))
    .toSorted((a, b) => Math.abs(b.offsetCents) - Math.abs(a.offsetCents));
  const [worst] = heard;
  const pitch = worst
    ? Math.round(Math.abs(worst.offsetCents)) === 0
      ? ['pitch about where it was left']
      : [
          `${names[worst.register]} about ${Math.round(Math.abs(worst.offsetCents))} ${worst.offsetCents < 0 ? 'flat' : 'sharp'}`,
        ]
    : [];
  const unisons = known.unisonsCents === null ? [] : [`unisons about ${Math.round(known.unisonsCents)}`];
  const sounds = [...pitch, ...unisons];
  if (sounds.length > 0) parts.push(`${sounds.join(', ')} (cents)`);
  const sentence = parts.join('; ');
  return `${sentence.charAt(0).toUpperCase()}${sentence.slice(1)}.`;
}
