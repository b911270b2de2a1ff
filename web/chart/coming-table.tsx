/** The coming days as a table: each second week, the median and the band that holds eight of ten. */
import type { Register } from '../../server/contract/index.ts';
import { Heads, number } from '../marks/heads.tsx';
import { percent, signed } from '../words/numbers.ts';
import { registerNames } from '../words/terms.ts';
import { dayMs, shortDay } from '../words/times.ts';
import type { Coming, FanColumns } from './coming.ts';

interface ComingTableProps {
  readonly coming: Coming;
  readonly register: Register;
  readonly timeZone: string;
}

function said(fan: FanColumns, timeMs: number, say: (value: number) => string): string {
  const i = fan.timesMs.indexOf(timeMs);
  const [low, middle, high] = [fan.low[i], fan.middle[i], fan.high[i]];
  if (typeof low !== 'number' || typeof middle !== 'number' || typeof high !== 'number') return '–';
  return `${say(middle)} (${say(low)} to ${say(high)})`;
}

export function ComingTable({ coming, register, timeZone }: ComingTableProps) {
  const days = coming.offsetCents.timesMs;
  const last = days.at(-1) ?? 0;
  const rows = days.filter(
    (timeMs) => Math.round((last - timeMs) / dayMs) % 14 === 0 && timeMs > coming.todayMs,
  );
  return (
    <table>
      <caption>What is foretold: the median, and between what 8 in 10 lie</caption>
      <Heads of={['Day', number('Air'), number('Board'), number(`${registerNames[register]}, cents`)]} />
      <tbody>
        {rows.map((timeMs) => (
          <tr key={timeMs}>
            <th scope="row">{shortDay(timeMs, timeZone)}</th>
            <td class="n">{said(coming.humidityPct, timeMs, (value) => percent(value))}</td>
            <td class="n">{said(coming.moisturePct, timeMs, (value) => percent(value, 1))}</td>
            <td class="n">{said(coming.offsetCents, timeMs, (value) => signed(value))}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
