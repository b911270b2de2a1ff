/** Each interval between two visits: what the board did and what the pitch did, with the line learned from them. */
import { useId } from 'preact/hooks';
import type { DriftPoint, Learned, Register, Sensitivity } from '../../server/contract/index.ts';
import { Heads, number } from '../marks/heads.tsx';
import { Scroll } from '../marks/scroll.tsx';
import { nowMs } from '../service/now.ts';
import { cents, count, nbsp, plain, signed } from '../words/numbers.ts';
import { registerNames } from '../words/terms.ts';
import { shortDay } from '../words/times.ts';
import { scatterShape } from './scatter-shape.ts';
import { useWidth } from './width.ts';

const frame = { heightPx: 300, leftPx: 40, bottomPx: 24 } as const;

interface DrawingProps {
  readonly points: readonly DriftPoint[];
  readonly slope: Sensitivity | undefined;
  readonly words: string;
}

function Drawing({ points, slope, words }: DrawingProps) {
  const { ref, widthPx } = useWidth<HTMLDivElement>();
  const clip = useId();
  const { heightPx, leftPx, bottomPx } = frame;
  const bottom = heightPx - bottomPx;
  const { x, y, marksX, marksY, line, band } = scatterShape(points, slope, { ...frame, widthPx });
  return (
    <div ref={ref} class="scatter">
      {widthPx > 0 && (
        <svg
          width={widthPx}
          height={heightPx}
          viewBox={`0 0 ${widthPx} ${heightPx}`}
          role="img"
          aria-label={words}
        >
          <clipPath id={clip}>
            <rect x={leftPx} y="0" width={Math.max(0, widthPx - leftPx)} height={bottom} />
          </clipPath>
          <path
            class="grid"
            d={[
              ...marksX.map((mark) => `M${x(mark)} 0V${bottom}`),
              ...marksY.map((mark) => `M${leftPx} ${y(mark)}H${widthPx}`),
            ].join('')}
          />
          <path class="zero" d={`M${x(0)} 0V${bottom}M${leftPx} ${y(0)}H${widthPx}`} />
          <g clip-path={`url(#${clip})`}>
            <path class="band" d={band} />
            <path class="line" d={line} />
          </g>
          {points.map((point) => (
            <circle key={point.toMs} cx={x(point.moistureChangePct)} cy={y(point.changeCents)} r="4.5" />
          ))}
          {marksX.map((mark) => (
            <text key={mark} x={x(mark)} y={heightPx - 6} text-anchor="middle">
              {signed(mark, Number.isInteger(mark) ? 0 : 1)}
            </text>
          ))}
          {marksY.map((mark) => (
            <text key={mark} x={leftPx - 7} y={y(mark) + 4} text-anchor="end">
              {signed(mark, Number.isInteger(mark) ? 0 : 1)}
            </text>
          ))}
        </svg>
      )}
    </div>
  );
}

function wordsOf(points: readonly DriftPoint[], slope: Sensitivity | undefined, register: Register): string {
  const name = registerNames[register].toLowerCase();
  const line = slope
    ? ` The line rises by ${plain(slope.centsPerPct, 1)} cents for each point, give or take ${plain(slope.sdCents, 1)}.`
    : '';
  return `Change of the ${name} in cents over change of board moisture in points, ${count(points.length, 'interval')}.${line}`;
}

interface ScatterProps {
  readonly learned: Learned | null;
  readonly register: Register;
  readonly timeZone: string;
}

export function Scatter({ learned, register, timeZone }: ScatterProps) {
  const points = (learned?.points ?? []).filter((point) => point.register === register);
  const slope = learned?.sensitivity.find((one) => one.register === register);
  const name = registerNames[register];
  return (
    <section class="drift-of-moisture" aria-labelledby="scatter">
      <h3 id="scatter">{name}, what it did when the board moved</h3>
      {learned === null && (
        <p class="quiet" role="status">
          Working it out …
        </p>
      )}
      {learned !== null && points.length === 0 && (
        <p class="quiet">
          No interval of its own yet: from one tuning’s pitch as left to the next visit’s as found, with the
          air between them known.
        </p>
      )}
      {points.length > 0 && (
        <>
          <p class="axis quiet">Cents, upward sharper</p>
          <Drawing points={points} slope={slope} words={wordsOf(points, slope, register)} />
          <p class="axis quiet across">Points of board moisture, to the right damper</p>
          <p class="quiet">
            Each dot is one interval between visits. The line is what moisture alone is thought to do, its
            band holds 8 in 10; temperature, ageing and settling move the dots off it.
          </p>
          <details class="more">
            <summary>The dots as a table</summary>
            <Scroll label="The dots as a table">
              <table>
                <Heads of={['From', 'To', number('Board'), number(name)]} />
                <tbody>
                  {points.toReversed().map(({ fromMs, toMs, moistureChangePct, changeCents }) => (
                    <tr key={toMs}>
                      <td>{shortDay(fromMs, timeZone, nowMs.value)}</td>
                      <td>{shortDay(toMs, timeZone, nowMs.value)}</td>
                      <td class="n">
                        {signed(moistureChangePct, 1)}
                        {nbsp}points
                      </td>
                      <td class="n">{cents(changeCents, 1)}</td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </Scroll>
          </details>
        </>
      )}
      {learned && <LeftOut leftOut={learned.leftOut} timeZone={timeZone} />}
    </section>
  );
}

/** Said openly: what is not learned from, and why. */
function LeftOut({ leftOut, timeZone }: { leftOut: Learned['leftOut']; timeZone: string }) {
  if (leftOut.length === 0) return null;
  return (
    <>
      <h4>Left out</h4>
      <ul class="left-out">
        {leftOut.toReversed().map(({ fromMs, toMs, because }) => (
          <li key={`${fromMs} ${toMs}`}>
            <b>
              {shortDay(fromMs, timeZone, nowMs.value)} to {shortDay(toMs, timeZone, nowMs.value)}:
            </b>{' '}
            {because}
          </li>
        ))}
      </ul>
    </>
  );
}
