/** What the watch has found: what, since when, why it matters, what to do, the numbers behind it, and what was done about it. */
import type { Notice } from '../../server/contract/index.ts';
import { Said } from '../marks/said.tsx';
import { Tally } from '../marks/tally.tsx';
import { nowMs } from '../service/now.ts';
import { count } from '../words/numbers.ts';
import { urgencyWord } from '../words/terms.ts';
import { longDay, nearDay } from '../words/times.ts';
import { Acts } from './acts.tsx';
import { evidenceWords } from './evidence.ts';
import './notices.css';

function stateWords(notice: Notice, timeZone: string): string {
  const since = `since ${nearDay(notice.beganMs, timeZone, nowMs.value)}`;
  if (notice.state === 'frozen') return `${since}; on hold: ${notice.frozenBecause ?? 'its data is stale'}`;
  if (notice.state === 'over' && notice.overMs !== null) {
    const because = notice.endedBecause ? `: ${notice.endedBecause}` : '';
    return `${longDay(notice.beganMs, timeZone, nowMs.value)} to ${longDay(notice.overMs, timeZone, nowMs.value)}; over${because}`;
  }
  return since;
}

function doneWords({ acknowledged, snoozedUntilMs }: Notice, timeZone: string): string {
  const parts: string[] = [];
  if (acknowledged) {
    const by = acknowledged.by === '' ? '' : ` by ${acknowledged.by}`;
    const note = acknowledged.note === '' ? '.' : `: “${acknowledged.note}”`;
    parts.push(`Acknowledged${by} on ${longDay(acknowledged.atMs, timeZone, nowMs.value)}${note}`);
  }
  if (snoozedUntilMs !== null && snoozedUntilMs > nowMs.value) {
    parts.push(`Snoozed until ${longDay(snoozedUntilMs, timeZone, nowMs.value)}.`);
  }
  return parts.join(' ');
}

interface OneNoticeProps {
  readonly notice: Notice;
  readonly timeZone: string;
  /** Where many places stand in one list. */
  readonly withPlace?: boolean;
  /** What is told under it, where it is of a whole house. */
  readonly members?: readonly Notice[];
}

export function OneNotice({ notice, timeZone, withPlace = false, members = [] }: OneNoticeProps) {
  const evidence = evidenceWords(notice.evidence, timeZone);
  const done = doneWords(notice, timeZone);
  return (
    <li class="notice">
      {withPlace && (
        <p class="notice-place">
          {notice.instrumentId ? (
            <a href={`/instruments/${notice.instrumentId}`}>{notice.place}</a>
          ) : (
            notice.place
          )}
        </p>
      )}
      <h3>
        <Tally value={notice.severity} words={urgencyWord(notice.severity)} />
        <Said sentence={notice.what} />
      </h3>
      <p class="when">
        {stateWords(notice, timeZone)}
        {notice.members > 0 && `; told for ${count(notice.members, 'place')} at once`}
      </p>
      <p>
        <Said sentence={notice.why} />
      </p>
      {notice.state !== 'over' && (
        <p class="to-do">
          <Said sentence={notice.toDo} />
        </p>
      )}
      {done !== '' && <p class="done">{done}</p>}
      {members.length > 0 && (
        <details>
          <summary>Where</summary>
          <ul class="notice-members">
            {members.map((one) => (
              <li key={one.id}>
                {one.instrumentId ? <a href={`/instruments/${one.instrumentId}`}>{one.place}</a> : one.place}
                {one.state === 'frozen' && `, on hold: ${one.frozenBecause ?? 'its data is stale'}`}
              </li>
            ))}
          </ul>
        </details>
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
      <Acts notice={notice} timeZone={timeZone} />
    </li>
  );
}
