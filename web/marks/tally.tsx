/** Classes 0 to 3 as three strokes, filled from the left; the word is spoken, and stands beside it where it matters. */
import type { Class0to3 } from '../../server/contract/index.ts';

export function Tally({ value, words }: { readonly value: Class0to3; readonly words: string }) {
  return (
    <span class="tally" role="img" aria-label={`${value} of 3, ${words}`} title={words}>
      {[1, 2, 3].map((stroke) => (
        <i key={stroke} class={stroke <= value ? 'filled' : undefined} />
      ))}
    </span>
  );
}
