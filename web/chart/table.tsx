/** The chart as a table: the same stretch in some two dozen steps, each with its means. */
import type { Climate, Pitch, Register } from '../../server/contract/index.ts';
import { Heads, number } from '../marks/heads.tsx';
import { percent, signed } from '../words/numbers.ts';
import { degrees } from '../words/temperature.ts';
import { registerNames } from '../words/terms.ts';
import { dayMs, moment, shortDay } from '../words/times.ts';
import { instantMs, wallTime } from '../words/zoned.ts';
import type { Column } from './columns.ts';

interface TableProps {
  readonly climate: Climate;
  readonly pitch: Pitch;
  readonly register: Register;
  readonly timeZone: string;
}

function mean(
  times: readonly number[],
  column: Column | undefined,
  fromMs: number,
  untilMs: number,
): number | null {
  if (!column) return null;
  let sum = 0;
  let n = 0;
  times.forEach((timeMs, i) => {
    const value = column[i] ?? null;
    if (value === null || timeMs < fromMs || timeMs >= untilMs) return;
    sum += value;
    n += 1;
  });
  return n === 0 ? null : sum / n;
}

/** Begins of the steps: hours, days, weeks or months of the venue, whichever gives about two dozen. */
function stepBegins(fromMs: number, untilMs: number, timeZone: string): number[] {
  const days = (untilMs - fromMs) / dayMs;
  const start = wallTime(fromMs, timeZone);
  const at = (i: number) => {
    if (days <= 4) return instantMs({ ...start, hour: start.hour + 3 * i, minute: 0 }, timeZone);
    if (days <= 31) return instantMs({ ...start, day: start.day + i, hour: 0, minute: 0 }, timeZone);
    if (days <= 200) return instantMs({ ...start, day: start.day + 7 * i, hour: 0, minute: 0 }, timeZone);
    return instantMs({ ...start, month: start.month + i, day: 1, hour: 0, minute: 0 }, timeZone);
  };
  const begins: number[] = [];
  for (let i = 0; i < 400 && at(i) < untilMs; i += 1) begins.push(at(i));
  return begins;
}

export function ChartTable({ climate, pitch, register, timeZone }: TableProps) {
  const begins = stepBegins(climate.fromMs, climate.untilMs, timeZone);
  const hourly = climate.untilMs - climate.fromMs <= 4 * dayMs;
  const course = pitch.course.registers.find((r) => r.register === register);
  const show = (value: number | null, say: (value: number) => string) => (value === null ? '–' : say(value));
  return (
    <table>
      <caption class="unseen">Means of each step of the stretch shown</caption>
      <Heads
        of={[
          'From',
          number('Inside'),
          number('Room'),
          number(`${climate.inside ? 'Inside' : 'Room'}, warmth`),
          number('Board'),
          number(`${registerNames[register]}, cents`),
        ]}
      />
      <tbody>
        {begins.map((begin, i) => {
          const end = begins[i + 1] ?? climate.untilMs + 1;
          const of = (column: Column | undefined) => mean(climate.timesMs, column, begin, end);
          return (
            <tr key={begin}>
              <th scope="row">{hourly ? moment(begin, timeZone) : shortDay(begin, timeZone)}</th>
              <td class="n">{show(of(climate.inside?.humidityPct), (v) => percent(v))}</td>
              <td class="n">{show(of(climate.room?.humidityPct), (v) => percent(v))}</td>
              <td class="n">{show(of((climate.inside ?? climate.room)?.temperatureC), degrees)}</td>
              <td class="n">{show(of(climate.board.moisturePct), (v) => percent(v, 1))}</td>
              <td class="n">
                {show(mean(pitch.course.timesMs, course?.offsetCents, begin, end), (v) => signed(v, 1))}
              </td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}
