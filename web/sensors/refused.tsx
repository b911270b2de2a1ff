/** What was set aside and why: nothing that was sent is thrown away unseen. */
import type { RefusedTally } from '../../server/contract/index.ts';
import { Scroll } from '../marks/scroll.tsx';
import { nowMs } from '../service/now.ts';
import { capital } from '../words/numbers.ts';
import { lasting } from '../words/times.ts';

export function Refused({ tallies }: { readonly tallies: readonly RefusedTally[] }) {
  if (tallies.length === 0) return null;
  const total = tallies.reduce((sum, { count }) => sum + count, 0);
  return (
    <section class="refused" aria-labelledby="refused">
      <h2 id="refused">Set aside</h2>
      <p>
        {total === 1 ? 'One message or value' : `${total} messages or values`} could not be taken. Each is
        kept as it came; the rest of its pack was stored.
      </p>
      <Scroll labelledBy="refused">
        <table>
          <thead>
            <tr>
              <th scope="col">Why</th>
              <th scope="col">Gateway</th>
              <th scope="col" class="n">
                How often
              </th>
              <th scope="col">Last</th>
            </tr>
          </thead>
          <tbody>
            {tallies.map((tally) => (
              <tr key={`${tally.gateway} ${tally.reason}`}>
                <td>
                  {capital(tally.reason.replaceAll(/[-_]/g, ' '))}
                  <br />
                  <span class="quiet">{tally.sentence}</span>
                </td>
                <td>{tally.gateway ?? 'not known'}</td>
                <td class="n">{tally.count}</td>
                <td>{lasting(nowMs.value - tally.lastMs)} ago</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
    </section>
  );
}
