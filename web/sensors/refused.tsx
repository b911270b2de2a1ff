/** What was set aside and why: nothing that was sent is thrown away unseen. */
import type { RefusedTally } from '../../server/contract/index.ts';
import { Heads, number } from '../marks/heads.tsx';
import { Scroll } from '../marks/scroll.tsx';
import { nowMs } from '../service/now.ts';
import { lasting } from '../words/times.ts';
import { wordsFor } from './reason-words.ts';

function benchAddress({ gateway, reason }: RefusedTally): string {
  const query = new URLSearchParams({ ...(gateway === null ? {} : { gateway }), reason });
  return `/sensors/bench?${query}`;
}

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
          <Heads of={['Why', 'Gateway', number('How often'), 'Last']} />
          <tbody>
            {tallies.map((tally) => {
              const { why, helps, onBench } = wordsFor(tally.reason);
              return (
                <tr key={`${tally.gateway} ${tally.reason}`}>
                  <td>
                    <strong>{why}.</strong> {helps}
                    <br />
                    <span class="quiet">The last: {tally.sentence}</span>
                    {onBench && tally.gateway !== null && (
                      <>
                        <br />
                        <a href={benchAddress(tally)}>
                          Look at them on the bench
                          <span class="unseen">
                            : {why}, {tally.gateway}
                          </span>
                        </a>
                      </>
                    )}
                  </td>
                  <td>{tally.gateway ?? 'not known'}</td>
                  <td class="n">{tally.count}</td>
                  <td>{lasting(nowMs.value - tally.lastMs)} ago</td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </Scroll>
    </section>
  );
}
