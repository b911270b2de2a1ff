/** How far each register moves for a point of board moisture, beside what is usual for its kind in the fleet. */
import type { Learned, Sensitivity as OfRegister, Register } from '../../server/contract/index.ts';
import { eightOfTen } from '../chart/columns.ts';
import { Heads, heard, number } from '../marks/heads.tsx';
import { count, nbsp, plain } from '../words/numbers.ts';
import { registerMeanings, registerNames } from '../words/terms.ts';

function againstFleet({ centsPerPct, sdCents, fleetCentsPerPct }: OfRegister): string {
  const usual = `${plain(fleetCentsPerPct, 1)}`;
  if (Math.abs(centsPerPct - fleetCentsPerPct) < eightOfTen * sdCents)
    return `about as far as is usual for its kind (${usual})`;
  return centsPerPct > fleetCentsPerPct
    ? `farther than is usual for its kind (${usual})`
    : `less far than is usual for its kind (${usual})`;
}

function Sentence({ one, lagDays }: { readonly one: OfRegister; readonly lagDays: number }) {
  const lag = `the board follows the air with a lag of about ${count(Math.round(lagDays), 'day')}`;
  const name = registerNames[one.register].toLowerCase();
  if (one.intervals === 0) {
    return (
      <p>
        Nothing of its own is learned yet. Of its kind one expects the {name} to move{' '}
        <b>{plain(one.centsPerPct, 1)} cents</b> for each point of board moisture, give or take{' '}
        {plain(one.sdCents, 1)}; {lag}.
      </p>
    );
  }
  return (
    <p>
      The {name} moves <b>{plain(one.centsPerPct, 1)} cents</b> for each point of board moisture,{' '}
      {againstFleet(one)}. Learned from {count(one.intervals, 'interval')} of its own; {lag}.
    </p>
  );
}

function Drawn({ all }: { readonly all: readonly OfRegister[] }) {
  const most =
    1.06 *
    Math.max(
      1,
      ...all.flatMap(({ centsPerPct, sdCents, fleetCentsPerPct }) => [
        centsPerPct + eightOfTen * sdCents,
        fleetCentsPerPct,
      ]),
    );
  const x = (value: number) => (Math.max(0, value) / most) * 100;
  return (
    <table>
      <Heads of={[heard('Register'), heard('Drawn'), number('its own'), number('its kind')]} />
      <tbody>
        {all.map(({ register, centsPerPct, sdCents, fleetCentsPerPct }) => (
          <tr key={register}>
            <th scope="row" title={registerMeanings[register]}>
              {registerNames[register]}
            </th>
            <td class="drawn">
              <svg viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true">
                <path class="zero" d="M0 0V10" />
                <path
                  class="sd"
                  d={`M${x(centsPerPct - eightOfTen * sdCents)} 5H${x(centsPerPct + eightOfTen * sdCents)}`}
                />
                <path class="usual" d={`M${x(fleetCentsPerPct)} 1V9`} />
                <path class="dot" d={`M${x(centsPerPct)} 5h0`} />
              </svg>
            </td>
            <td class="n">
              {plain(centsPerPct, 1)}
              {nbsp}±{nbsp}
              {plain(sdCents, 1)}
            </td>
            <td class="n">{plain(fleetCentsPerPct, 1)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

interface SensitivityProps {
  readonly learned: Learned | null;
  readonly register: Register;
}

export function Sensitivity({ learned, register }: SensitivityProps) {
  const one = learned?.sensitivity.find((of) => of.register === register);
  return (
    <section class="how-far" aria-labelledby="how-far">
      <h2 id="how-far">How far it moves</h2>
      {learned === null && (
        <p class="quiet" role="status">
          Working it out …
        </p>
      )}
      {learned !== null && learned.sensitivity.length === 0 && (
        <p class="quiet">Nothing is learned yet: it takes two visits with the air between them known.</p>
      )}
      {learned && one && <Sentence one={one} lagDays={learned.lagDays} />}
      {learned && learned.sensitivity.length > 0 && (
        <>
          <Drawn all={learned.sensitivity} />
          <p class="quiet">
            Cents for each point of board moisture. The bar holds 8 times in 10; the upright stroke is its
            kind.
          </p>
        </>
      )}
    </section>
  );
}
