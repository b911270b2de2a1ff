/** One room: what to do in it today, its year, and how it stands now and stood this month. */
import type { ComponentChildren } from 'preact';
import type { RoomToday } from '../../server/contract/index.ts';
import { Said } from '../marks/said.tsx';
import { nowMs } from '../service/now.ts';
import { bandWords } from '../words/humidity.ts';
import { percent } from '../words/numbers.ts';
import { degrees } from '../words/temperature.ts';
import { clock, nearDay } from '../words/times.ts';
import { HumidityStrip } from './humidity-strip.tsx';

const hourMs = 3_600_000;

/** "27 % · 20.9 °C · last 30 days 61 % within 38 to 52 %". */
export function numbersOf(room: RoomToday): string {
  const { now, lastMonth, timeZone, borrowedFrom } = room;
  const stale = now !== null && nowMs.value - now.timeMs > 3 * hourMs;
  const air =
    now === null
      ? ['no reading']
      : stale
        ? [`no reading since ${nearDay(now.timeMs, timeZone)}`]
        : [
            ...(now.humidityPct === null ? [] : [percent(now.humidityPct)]),
            ...(now.temperatureC === null ? [] : [degrees(now.temperatureC)]),
          ];
  const month =
    lastMonth.within === null
      ? [`${bandWords(room)} wished`]
      : [`last 30 days ${percent(100 * lastMonth.within)} within ${bandWords(room)}`];
  const from = borrowedFrom === null ? [] : [`borrowed from ${borrowedFrom}`];
  return [...from, ...air, ...month].join(' · ');
}

interface RoomCardProps {
  readonly room: RoomToday;
  /** Links of its venue, where the card stands for a whole venue; then the venue is named too. */
  readonly children?: ComponentChildren;
}

export function RoomCard({ room, children }: RoomCardProps) {
  const { today, timeZone } = room;
  return (
    <li class="room-card">
      <h3>
        <a href={`/rooms/${room.id}`}>{children ? `${room.venueName}, ${room.name}` : room.name}</a>
      </h3>
      <p class={today.state === 'fit' && !today.task ? 'room-today calm' : 'room-today'}>
        <Said sentence={today.sentence} />
      </p>
      {today.also.map((one) => (
        <p key={one} class="room-also">
          <Said sentence={one} />
        </p>
      ))}
      {today.doneMs !== null && <p class="room-done">Ticked today at {clock(today.doneMs, timeZone)}.</p>}
      <HumidityStrip strip={room.strip} timeZone={timeZone} />
      <p class="room-numbers">{numbersOf(room)}</p>
      {children}
    </li>
  );
}
