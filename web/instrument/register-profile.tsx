/** Where each register is thought to stand today, with its band, against the tolerance. */
import type { InstrumentPage } from '../../server/contract/index.ts';
import { eightOfTen } from '../chart/columns.ts';
import type { Spread } from '../drift/today.ts';
import { Unisons } from '../drift/unisons.tsx';
import { Heads } from '../marks/heads.tsx';
import { cents, nbsp, plain, signed } from '../words/numbers.ts';
import { registerMeanings, registerNames } from '../words/terms.ts';
import { shortDay } from '../words/times.ts';
import { chanceWords, unisonsLeft } from './pitch-words.ts';

/** Half the width of the drawing in cents: all offsets with their bands fit, and small ones are not blown up. */
function halfWidth({ registers, tolerance }: InstrumentPage): number {
  const reach = registers.map(
    ({ offsetCents, sdCents }) => Math.abs(offsetCents ?? 0) + eightOfTen * (sdCents ?? 0),
  );
  return Math.max(tolerance.levelCents * 1.6, ...reach, 8) * 1.06;
}

interface ProfileProps {
  readonly instrument: InstrumentPage;
  /** Unisons as foretold for today; null where they are not. */
  readonly spread: Spread | null;
}

export function RegisterProfile({ instrument: i, spread }: ProfileProps) {
  const level = i.tolerance.levelCents;
  const unisons = unisonsLeft(i.visits, i.tolerance);
  return (
    <section class="profile" aria-labelledby="profile">
      <h2 id="profile">Offset by register, today</h2>
      {i.registers.every(({ offsetCents }) => offsetCents === null) ? (
        <p class="quiet">Nothing to predict from before a tuning is recorded and the air is measured.</p>
      ) : (
        <ProfileTable instrument={i} />
      )}
      {spread && <Unisons spread={spread} tolerance={i.tolerance} />}
      <p class="quiet">
        Out of tolerance is the whole: the median of the registers against ±{nbsp}
        {plain(level, Number.isInteger(level) ? 0 : 1)} cents, in grey, or a step of more than{' '}
        {plain(i.tolerance.stepCents, Number.isInteger(i.tolerance.stepCents) ? 0 : 1)} cents at a break, from{' '}
        bass to tenor or from middle to treble. The bar holds 8 times in 10; ± is one standard deviation.
      </p>
      <p class="quiet">
        Unisons as measured:{' '}
        {unisons
          ? `left within ${cents(unisons.cents, 1).replace('+', '')} on ${shortDay(unisons.atMs, i.timeZone)}; `
          : 'not measured yet; '}
        tolerance {plain(i.tolerance.unisonCents, 1)} cents.
      </p>
    </section>
  );
}

function ProfileTable({ instrument: i }: { readonly instrument: InstrumentPage }) {
  const half = halfWidth(i);
  const x = (value: number) => 50 + (value / half) * 50;
  const level = i.tolerance.levelCents;
  return (
    <table>
      <Heads unseen of={['Register', 'Drawn', 'Predicted offset']} />
      <tbody>
        {i.registers.map(({ register, offsetCents, sdCents }) => (
          <tr key={register}>
            <th scope="row" title={registerMeanings[register]}>
              {registerNames[register]}
            </th>
            <td class="drawn">
              <svg viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true">
                <rect class="tolerance" x={x(-level)} width={x(level) - x(-level)} y="0" height="10" />
                <path class="zero" d="M50 0V10" />
                {offsetCents !== null && (
                  <>
                    <path
                      class="sd"
                      d={`M${x(offsetCents - eightOfTen * (sdCents ?? 0))} 5H${x(offsetCents + eightOfTen * (sdCents ?? 0))}`}
                    />
                    <path class="dot" d={`M${x(offsetCents)} 5h0`} />
                  </>
                )}
              </svg>
            </td>
            <td class="n">
              {offsetCents === null ? (
                '–'
              ) : (
                <>
                  {signed(offsetCents)}
                  {nbsp}±{nbsp}
                  {plain(sdCents ?? 0, (sdCents ?? 0) < 1 ? 1 : 0)}
                  <span class="unseen"> cents</span>
                </>
              )}
            </td>
          </tr>
        ))}
        {i.whole && (
          <tr class="whole">
            <th scope="row">As a whole</th>
            <td class="drawn">
              <svg viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true">
                <rect class="tolerance" x={x(-level)} width={x(level) - x(-level)} y="0" height="10" />
                <path class="zero" d="M50 0V10" />
                <path class="dot" d={`M${x(i.whole.levelCents)} 5h0`} />
              </svg>
            </td>
            <td class="n">
              {signed(i.whole.levelCents)}
              <span class="unseen"> cents</span>
              <span class="chance quiet">{chanceWords(i.whole.beyond)}</span>
            </td>
          </tr>
        )}
      </tbody>
    </table>
  );
}
