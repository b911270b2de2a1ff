/**
 * A year of days as a calendar: a row a month, a column a day, in the dry-to-damp colours. Each day can be gone to with
 * the arrow keys or touched, and says its figure; below it the same as a table of months.
 */
import { useSignal } from '@preact/signals';
import type { RoomToday } from '../../server/contract/index.ts';
import { Heads, number } from '../marks/heads.tsx';
import { Scroll } from '../marks/scroll.tsx';
import { againstBand, humidityClass } from '../words/humidity.ts';
import { percent } from '../words/numbers.ts';
import { HumidityKey } from './humidity-key.tsx';
import { type Day, figuresOf, monthsOf } from './year-days.ts';

const dayName = new Intl.DateTimeFormat('en-GB', {
  weekday: 'long',
  day: 'numeric',
  month: 'long',
  timeZone: 'UTC',
});

function dayWords(day: Day, room: RoomToday): string {
  const name = dayName.format(day.timeMs);
  if (day.humidityPct === null) return `${name}: not measured`;
  return `${name}: ${percent(day.humidityPct)}, ${againstBand(day.humidityPct, room)}`;
}

const cellId = (timeMs: number): string => `day-${timeMs}`;

const columns = Array.from({ length: 31 }, (_, i) => i + 1);

export function HeatMap({ room }: { readonly room: RoomToday }) {
  const months = monthsOf(room.strip);
  const days = months.flatMap((one) => one.days);
  const last = days.findLast((one) => one.humidityPct !== null) ?? days.at(-1);
  const at = useSignal<number | null>(null);
  const standsMs = at.value ?? last?.timeMs ?? 0;
  const shown = days.find((one) => one.timeMs === standsMs);

  const go = (toMs: number) => {
    const target = days.find((one) => one.timeMs === toMs);
    if (!target) return;
    at.value = target.timeMs;
    document.getElementById(cellId(target.timeMs))?.scrollIntoView({ block: 'nearest', inline: 'nearest' });
  };
  const onKeyDown = (event: KeyboardEvent) => {
    const row = months.findIndex((one) => one.days.some((day) => day.timeMs === standsMs));
    const day = shown?.day ?? 1;
    const inMonth = (by: number) => {
      const there = months[row + by]?.days;
      return (there?.find((one) => one.day === day) ?? there?.at(-1))?.timeMs ?? standsMs;
    };
    const to: Record<string, () => number> = {
      ArrowLeft: () => standsMs - 86_400_000,
      ArrowRight: () => standsMs + 86_400_000,
      ArrowUp: () => inMonth(-1),
      ArrowDown: () => inMonth(1),
      Home: () => months[row]?.days[0]?.timeMs ?? standsMs,
      End: () => months[row]?.days.at(-1)?.timeMs ?? standsMs,
    };
    const target = to[event.key];
    if (!target) return;
    event.preventDefault();
    go(target());
  };

  return (
    <section class="room-section" aria-labelledby="calendar">
      <h2 id="calendar">A year of days</h2>
      <HumidityKey />
      <Scroll label="Humidity day by day">
        <table
          class="heat"
          // biome-ignore lint/a11y/noNoninteractiveElementToInteractiveRole: a grid is a table whose cells are gone to
          role="grid"
          aria-label="Mean humidity of each day; arrow keys move from day to day"
          // One stop for the tab key: the grid has the focus, and says which day it stands on.
          tabIndex={0}
          aria-activedescendant={cellId(standsMs)}
          onKeyDown={onKeyDown}
        >
          <thead>
            <tr>
              <th scope="col">
                <span class="unseen">Month</span>
              </th>
              {columns.map((day) => (
                <th key={day} scope="col" class="heat-day">
                  {day % 5 === 0 || day === 1 ? day : <span class="unseen">{day}</span>}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {months.map((month) => (
              <tr key={month.name}>
                <th scope="row">{month.name}</th>
                {columns.map((column) => {
                  const day = month.days.find((one) => one.day === column);
                  if (!day) return <td key={column} />;
                  const { humidityPct, timeMs } = day;
                  return (
                    <td
                      key={column}
                      id={cellId(timeMs)}
                      class={`day ${humidityPct === null ? 'gap' : `fill${humidityClass(humidityPct)}`}${timeMs === standsMs ? ' stands' : ''}`}
                      aria-label={dayWords(day, room)}
                      onMouseEnter={() => {
                        at.value = timeMs;
                      }}
                    />
                  );
                })}
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
      <p class="heat-readout" aria-live="off">
        {shown ? dayWords(shown, room) : 'No day is known yet.'}
      </p>
      <details class="more">
        <summary>The same, month by month, in figures</summary>
        <MonthTable room={room} />
      </details>
    </section>
  );
}

function MonthTable({ room }: { readonly room: RoomToday }) {
  const months = monthsOf(room.strip)
    .map((one) => figuresOf(one, room))
    .filter((one) => one !== null);
  return (
    <Scroll label="Humidity month by month">
      <table>
        <Heads
          of={['Month', number('Driest day'), number('Mean'), number('Dampest day'), number('Days within')]}
        />
        <tbody>
          {months.map((one) => (
            <tr key={one.name}>
              <th scope="row">{one.name}</th>
              <td class="n">{percent(one.leastPct)}</td>
              <td class="n">{percent(one.meanPct)}</td>
              <td class="n">{percent(one.mostPct)}</td>
              <td class="n">
                {one.daysWithin} of {one.days}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}
