/** The last day hour by hour: a line over the band that is wished, with gaps left open. */
import type { RoomDetail } from '../../server/contract/index.ts';
import { LeftOutWords } from '../marks/left-out.tsx';
import { bandWords } from '../words/humidity.ts';
import { percent, plain } from '../words/numbers.ts';
import { clock } from '../words/times.ts';

const heightPct = 100;
const hourMs = 3_600_000;
/** A stretch of some minutes is still seen. */
const leastWide = 0.2;
const barHigh = 4;

export function LastDay({ room }: { readonly room: RoomDetail }) {
  const { timesMs, humidityPct, within, leftOut } = room.lastDay;
  const known = humidityPct.filter((one) => one !== null);
  const [first, last] = [timesMs[0], timesMs.at(-1)];
  if (first === undefined || last === undefined) return null;
  const doubtWords = leftOut.length > 0 && (
    <p class="day-left-out">
      <span class="left-out-key" aria-hidden="true" />
      <LeftOutWords leftOut={leftOut} timeZone={room.timeZone} />
    </p>
  );
  if (known.length === 0) return doubtWords || null;
  const least = Math.min(...known);
  const most = Math.max(...known);
  // So much air above and below, in steps of ten, that a quiet day looks quiet.
  const low = Math.floor(Math.min(least, room.wishedLowPct) / 10) * 10;
  const high = Math.ceil(Math.max(most, room.wishedHighPct) / 10) * 10;
  const y = (pct: number) => heightPct - ((pct - low) / (high - low)) * heightPct;
  let pen = 'M';
  const d = humidityPct
    .map((pct, i) => {
      const step = pct === null ? '' : `${pen}${i} ${y(pct).toFixed(1)}`;
      pen = pct === null ? 'M' : 'L';
      return step;
    })
    .join('');
  const part = within === 0 ? 'none' : within === 1 ? 'all' : percent(100 * (within ?? 0));
  const hours = within === null ? '' : `, ${part} of the hours within ${bandWords(room)}`;
  const doubted = leftOut.map(({ fromMs, untilMs, sensorId }) => {
    const width = Math.max(leastWide, (untilMs - fromMs) / hourMs);
    const x = Math.min((fromMs - first) / hourMs, 23 - width);
    return { key: `${sensorId} ${fromMs}`, x, width };
  });
  const words = `${plain(least)} to ${percent(most)}${hours}.`;
  return (
    <section class="room-section" aria-labelledby="last-day">
      <h2 id="last-day">The last day</h2>
      <p>{words}</p>
      <svg
        class="day-plot"
        viewBox={`0 0 23 ${heightPct}`}
        preserveAspectRatio="none"
        height="110"
        role="img"
        aria-label={`Humidity of the last day: ${words} The grey band is what is wished.${doubted.length > 0 ? ' Some readings are left out as in doubt.' : ''}`}
      >
        <rect
          class="band"
          x="0"
          width="23"
          y={y(room.wishedHighPct)}
          height={y(room.wishedLowPct) - y(room.wishedHighPct)}
        />
        {doubted.map(({ key, x, width }) => (
          <g key={key} class="left-out">
            <rect class="shade" x={x} width={width} y={0} height={heightPct} />
            <rect x={x} width={width} y={0} height={barHigh} />
          </g>
        ))}
        <path class="line" d={d} />
      </svg>
      <p class="day-axis" aria-hidden="true">
        <span>{clock(first, room.timeZone)} yesterday</span>
        <span>grey: {bandWords(room)} wished</span>
        <span>{clock(last, room.timeZone)}</span>
      </p>
      {doubtWords}
    </section>
  );
}
