/** What is shown of a file: its first rows, lines that cannot be read, how far it has got. */
import type { LoggerPreview } from '../../../server/contract/index.ts';
import { Heads, number } from '../../marks/heads.tsx';
import { Scroll } from '../../marks/scroll.tsx';
import { capital, count, percent } from '../../words/numbers.ts';
import { degrees } from '../../words/temperature.ts';
import { moment } from '../../words/times.ts';
import type { Bad, Progress } from './bringing.ts';

export function BadLines({ bad, total }: { readonly bad: readonly Bad[]; readonly total: number }) {
  if (total === 0) return null;
  return (
    <section aria-labelledby="bad-lines">
      <h2 id="bad-lines">{capital(count(total, 'line'))} could not be taken whole</h2>
      {total > bad.length && <p class="quiet">The first {bad.length} of them:</p>}
      <div class="bad-lines">
        <Scroll labelledBy="bad-lines">
          <table>
            <Heads of={[number('Line'), 'Why']} />
            <tbody>
              {bad.map(({ line, sentence }, i) => (
                <tr key={`${line} ${i}`}>
                  <td class="n">{line ?? '–'}</td>
                  <td>{sentence}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      </div>
    </section>
  );
}

export function Rows({ preview, timeZone }: { readonly preview: LoggerPreview; readonly timeZone: string }) {
  return (
    <Scroll label="The first rows, as they would be read">
      <table>
        <Heads of={['Measured', number('Humidity'), number('Temperature')]} />
        <tbody>
          {preview.rows.map((row, i) => (
            <tr key={`${row.timeMs} ${i}`}>
              <td>{moment(row.timeMs, timeZone)}</td>
              <td class="n">{row.humidityPct === null ? '–' : percent(row.humidityPct, 1)}</td>
              <td class="n">{row.temperatureC === null ? '–' : degrees(row.temperatureC)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}

export function progressWords({ state, rows, stored, duplicates, conflicts }: Progress): string {
  if (state === 'at rest') return '';
  const parts = [
    `${capital(count(rows, 'row'))} read`,
    `${count(stored, 'value')} stored`,
    ...(duplicates > 0 ? [`${duplicates} there already`] : []),
    ...(conflicts > 0 ? [`${conflicts} against what is kept, which stays`] : []),
  ];
  return `${parts.join(', ')}.`;
}
