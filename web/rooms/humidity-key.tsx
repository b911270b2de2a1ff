/** What the colours of a room's air say, with words and figures at both ends. */
import { dampestPct, driestPct } from '../words/humidity.ts';
import { classes } from '../words/moisture.ts';
import { percent } from '../words/numbers.ts';

export function HumidityKey() {
  return (
    <p class="moisture-key">
      <span>dry, under {percent(driestPct)}</span>
      <svg viewBox="0 0 9 1" preserveAspectRatio="none" aria-hidden="true">
        {classes.map((one, i) => (
          <path key={one} class={`m${one}`} d={`M${i} 0h1v1h-1z`} />
        ))}
      </svg>
      <span>damp, over {percent(dampestPct)}</span>
    </p>
  );
}
