/** The unisons beside the registers: a piano can stand at pitch and still need tuning because its unisons do not. */
import type { Tolerance } from '../../server/contract/index.ts';
import { nbsp, plain } from '../words/numbers.ts';
import type { Spread } from './today.ts';

/** Where the band stands against the tolerance, in words that claim no more than it knows. */
export function spreadWords({ low, middle, high }: Spread, { unisonCents }: Tolerance): string {
  if (low > unisonCents) return 'very likely out';
  if (high < unisonCents) return 'very likely within';
  return middle > unisonCents ? 'likely out' : 'likely within';
}

export function Unisons({ spread, tolerance }: { readonly spread: Spread; readonly tolerance: Tolerance }) {
  const most = Math.max(tolerance.unisonCents * 2, spread.high * 1.08);
  const x = (value: number) => (value / most) * 100;
  return (
    <table class="unisons">
      <caption class="unseen">Unison spread foretold for today, in cents</caption>
      <tbody>
        <tr>
          <th scope="row">Unisons</th>
          <td class="drawn">
            <svg viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true">
              <rect class="tolerance" x="0" width={x(tolerance.unisonCents)} y="0" height="10" />
              <path class="zero" d="M0 0V10" />
              <path class="sd" d={`M${x(spread.low)} 5H${x(spread.high)}`} />
              <path class="dot" d={`M${x(spread.middle)} 5h0`} />
            </svg>
          </td>
          <td class="n">
            {plain(spread.middle, 1)}
            {nbsp}
            <span class="range">
              ({plain(spread.low, 1)} to {plain(spread.high, 1)})
            </span>
            <span class="chance quiet">{spreadWords(spread, tolerance)}</span>
          </td>
        </tr>
      </tbody>
    </table>
  );
}
