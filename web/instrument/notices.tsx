/** What the watch has found: what, since when, why it matters, what to do, and the numbers behind it. */
import type { Notice } from '../../server/contract/index.ts';
import { Said } from '../marks/said.tsx';
import { Tally } from '../marks/tally.tsx';
import { nowMs } from '../service/now.ts';
import { urgencyWord } from '../words/terms.ts';
import { longDay, nearDay } from '../words/times.ts';
import { evidenceWords } from './evidence.ts';

interface NoticesProps {
  readonly notices: readonly Notice[];
  readonly timeZone: string;
}

function stateWords(notice: Notice, timeZone: string): string {
  const since = `since ${nearDay(notice.beganMs, timeZone, nowMs.value)}`;
  if (notice.state === 'frozen') return `${since}; on hold, as nothing is heard from its sensor`;
  if (notice.state === 'over' && notice.overMs !== null) {
    return `${longDay(notice.beganMs, timeZone, nowMs.value)} to ${longDay(notice.overMs, timeZone, nowMs.value)}; over`;
  }
  return since;
}

function One({ notice, timeZone }: { readonly notice: Notice; readonly timeZone: string }) {
  const evidence = evidenceWords(notice.evidence, timeZone);
  return (
    <li>
      <h3>
        <Tally value={notice.severity} words={urgencyWord(notice.severity)} />
        <Said sentence={notice.what} />
      </h3>
      <p class="when">{stateWords(notice, timeZone)}</p>
      <p>
        <Said sentence={notice.why} />
      </p>
      {notice.state !== 'over' && (
        <p class="to-do">
          <Said sentence={notice.toDo} />
        </p>
      )}
      {evidence.length > 0 && (
        <details>
          <summary>What it rests on</summary>
          <table>
            <tbody>
              {evidence.map(([name, value]) => (
                <tr key={name}>
                  <th scope="row">{name}</th>
                  <td class="n">{value}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </details>
      )}
    </li>
  );
}

export function Notices({ notices, timeZone }: NoticesProps) {
  const open = notices.filter(({ state }) => state !== 'over');
  const over = notices.filter(({ state }) => state === 'over');
  return (
    <section class="notices" aria-labelledby="notices">
      <h2 id="notices">What the watch has found</h2>
      {open.length === 0 && <p class="quiet">Nothing that goes on.</p>}
      <ul>
        {open.map((notice) => (
          <One key={notice.id} notice={notice} timeZone={timeZone} />
        ))}
      </ul>
      {over.length > 0 && (
        <details class="more">
          <summary>What is over ({over.length})</summary>
          <ul>
            {over.map((notice) => (
              <One key={notice.id} notice={notice} timeZone={timeZone} />
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}
