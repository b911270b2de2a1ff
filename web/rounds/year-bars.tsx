/** Twelve months as bars: one venue's share in the accent, the others' behind it, the hours there are as a line. */
import type { YearPlan } from '../../server/contract/index.ts';
import { plain } from '../words/numbers.ts';
import { monthName } from './year-words.ts';

interface BarsProps {
  readonly months: YearPlan['months'];
  /** '' for all. */
  readonly venueId: string;
}

const [width, height, foot, head] = [480, 170, 18, 18];
const step = width / 12;

export function YearBars({ months, venueId }: BarsProps) {
  const available = months[1]?.available ?? 0;
  const fullest = Math.max(1, ...months.map(({ hours }) => hours));
  // A line far above the bars would press them flat: it is left to the words.
  const inSight = available > 0 && available < 2 * fullest;
  const most = inSight ? Math.max(fullest, available * 1.1) : fullest;
  const y = (hours: number) => head + (height - head - foot) * (1 - hours / most);
  const base = y(0);
  return (
    <svg class="year-bars" viewBox={`0 0 ${width} ${height}`} aria-hidden="true">
      {months.map((one, i) => {
        const own =
          venueId === ''
            ? one.hours
            : one.venues
                .filter((venue) => venue.venueId === venueId)
                .reduce((sum, { hours }) => sum + hours, 0);
        const x = i * step + 5;
        return (
          <g key={one.month}>
            <rect class="others" x={x} y={y(one.hours)} width={step - 10} height={base - y(one.hours)} />
            <rect class="own" x={x} y={y(own)} width={step - 10} height={base - y(own)} />
            <text class="value" x={i * step + step / 2} y={y(one.hours) - 4}>
              {plain(one.hours)}
            </text>
            <text x={i * step + step / 2} y={height - 4}>
              {monthName(one.month, 'short')}
            </text>
          </g>
        );
      })}
      <path class="base" d={`M0 ${base}H${width}`} />
      {inSight && <path class="there" d={`M0 ${y(available)}H${width}`} />}
    </svg>
  );
}
