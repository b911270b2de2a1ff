/** Why a register moved: the share of each cause, in cents, as bars from one line and as words. */
import type { Learned, WhyMoved as Moved, Register } from '../../server/contract/index.ts';
import { Heads } from '../marks/heads.tsx';
import { nowMs } from '../service/now.ts';
import { cents, nbsp, plain, signed } from '../words/numbers.ts';
import { registerNames } from '../words/terms.ts';
import { longDay } from '../words/times.ts';

/** Shares this small are told by their figure alone. */
const leastDrawn = 0.05;
/** Below it nobody hears that anything moved. */
const worthACent = 0.75;

interface Share {
  readonly name: string;
  readonly cents: number;
  readonly tone: string;
}

function sharesOf(moved: Moved): Share[] {
  const { moistureCents, temperatureCents, ageingCents, settlingCents, unexplainedCents } = moved;
  return [
    {
      name: moistureCents < 0 ? 'The board dried' : 'The board took up moisture',
      cents: moistureCents,
      tone: moistureCents < 0 ? 'dried' : 'swelled',
    },
    { name: 'Temperature, passing', cents: temperatureCents, tone: 'other' },
    { name: 'Ageing', cents: ageingCents, tone: 'other' },
    ...(Math.abs(settlingCents) < leastDrawn
      ? []
      : [{ name: 'Settling after work', cents: settlingCents, tone: 'other' }]),
    ...(unexplainedCents === null
      ? []
      : [{ name: 'Not explained', cents: unexplainedCents, tone: 'unexplained' }]),
  ];
}

/** The farthest the bars reach either way, cents: both stretches are drawn on one scale. */
function reach(all: readonly Moved[]): number {
  return Math.max(2, ...all.flatMap((moved) => sharesOf(moved).map((share) => Math.abs(share.cents))));
}

/** "The tenor fell by 11.2 cents, most of it because the board dried." */
function sentence(moved: Moved): string {
  const name = registerNames[moved.register].toLowerCase();
  const { totalCents, moistureCents } = moved;
  if (Math.abs(totalCents) < worthACent) return `The ${name} has hardly moved: ${cents(totalCents, 1)}.`;
  const way = totalCents < 0 ? 'fell' : 'rose';
  const size = `${plain(Math.abs(totalCents), 1)}${nbsp}cents`;
  const share = moistureCents / totalCents;
  const board = moistureCents < 0 ? 'the board dried' : 'the board took up moisture';
  const because =
    share > 0.9 ? `, nearly all of it because ${board}` : share > 0.5 ? `, most of it because ${board}` : '';
  return `The ${name} ${way} by ${size}${because}.`;
}

function Bars({ moved, half }: { readonly moved: Moved; readonly half: number }) {
  return (
    <table class="causes">
      <caption class="unseen">{moved.words}</caption>
      <Heads unseen of={['Cause', 'Drawn', 'Cents']} />
      <tbody>
        {sharesOf(moved).map(({ name, cents: share, tone }) => (
          <tr key={name}>
            <th scope="row">{name}</th>
            <td class="drawn">
              <svg viewBox="-50 0 100 10" preserveAspectRatio="none" aria-hidden="true">
                {Math.abs(share) >= leastDrawn && (
                  <rect
                    class={tone}
                    x={Math.min(0, (share / half) * 50)}
                    width={Math.abs(share / half) * 50}
                    y="2"
                    height="6"
                  />
                )}
                <path class="zero" d="M0 0V10" />
              </svg>
            </td>
            <td class="n">{signed(share, 1)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Stretch({ moved, half, timeZone }: { moved: Moved; half: number; timeZone: string }) {
  const day = (timeMs: number) => longDay(timeMs, timeZone, nowMs.value);
  return (
    <div class="stretch">
      <h3>
        {moved.measured
          ? `${day(moved.sinceMs)} to ${day(moved.untilMs)}, as found`
          : `Since ${day(moved.sinceMs)}, as predicted`}
      </h3>
      <p>{sentence(moved)}</p>
      <Bars moved={moved} half={half} />
    </div>
  );
}

interface WhyProps {
  readonly learned: Learned | null;
  readonly register: Register;
  readonly timeZone: string;
}

export function WhyMoved({ learned, register, timeZone }: WhyProps) {
  const told = (learned?.whyMoved ?? []).filter((moved) => moved.register === register);
  return (
    <section class="why" aria-labelledby="why">
      <h2 id="why">Why the {registerNames[register].toLowerCase()} moved</h2>
      {learned === null && (
        <p class="quiet" role="status">
          Working it out …
        </p>
      )}
      {learned !== null && told.length === 0 && (
        <p class="quiet">Nothing to tell before a tuning is recorded and the air since then is known.</p>
      )}
      {told.map((moved) => (
        <Stretch key={moved.sinceMs} moved={moved} half={reach(told)} timeZone={timeZone} />
      ))}
    </section>
  );
}
