/** What the colours of a year strip say, with words and figures at both ends. */
import { classes, edgesPct } from '../words/moisture.ts';
import { percent } from '../words/numbers.ts';

export function MoistureKey() {
  const [driest = 0] = edgesPct;
  const wettest = edgesPct.at(-1) ?? 0;
  return (
    <p class="moisture-key">
      <span>dry, under {percent(driest, 1)}</span>
      <svg viewBox="0 0 9 1" preserveAspectRatio="none" aria-hidden="true">
        {classes.map((moisture, i) => (
          <path key={moisture} class={`m${moisture}`} d={`M${i} 0h1v1h-1z`} />
        ))}
      </svg>
      <span>damp, over {percent(wettest, 1)}</span>
    </p>
  );
}
