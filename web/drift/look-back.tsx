/** What would have been said before each past visit, from what was known by then, set against what was found. */
import type { LookBackPage, LookBackScore, Register } from '../../server/contract/index.ts';
import { Heads, number } from '../marks/heads.tsx';
import { Said } from '../marks/said.tsx';
import { Scroll } from '../marks/scroll.tsx';
import { nowMs } from '../service/now.ts';
import { percent, plain, signed } from '../words/numbers.ts';
import { registerNames } from '../words/terms.ts';
import { shortDay } from '../words/times.ts';
import { inBand, scoreWords } from './score-words.ts';

interface VisitsProps {
  readonly visits: LookBackPage['visits'];
  readonly register: Register;
  readonly timeZone: string;
}

function VisitsTable({ visits, register, timeZone }: VisitsProps) {
  const rows = visits.flatMap(({ toMs, registers }) => {
    const one = registers.find((of) => of.register === register);
    return one ? [{ toMs, ...one }] : [];
  });
  if (rows.length === 0) {
    return (
      <p class="quiet">
        The {registerNames[register].toLowerCase()} was measured at no visit that could be scored.
      </p>
    );
  }
  return (
    <Scroll labelledBy="look-back">
      <table>
        <caption class="unseen">{registerNames[register]}, change since the tuning before, in cents</caption>
        <Heads of={['Visit', number('Said'), number('8 in 10 between'), number('Found'), 'In the band']} />
        <tbody>
          {rows.map(({ toMs, saidCents, lowCents, highCents, foundCents }) => {
            const verdict = inBand(foundCents, lowCents, highCents);
            return (
              <tr key={toMs}>
                <th scope="row">{shortDay(toMs, timeZone, nowMs.value)}</th>
                <td class="n">{signed(saidCents, 1)}</td>
                <td class="n">
                  {signed(lowCents, 1)} and {signed(highCents, 1)}
                </td>
                <td class="n">
                  <b>{signed(foundCents, 1)}</b>
                </td>
                <td>{verdict === 'yes' ? verdict : <b>{verdict}</b>}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </Scroll>
  );
}

const scopes = [
  ['instrument', 'this piano'],
  ['venue', 'this venue'],
  ['fleet', 'the whole fleet'],
] as const;

function Scores({ page }: { readonly page: LookBackPage }) {
  const known = scopes.filter(([scope]) => page[scope].missCents !== null);
  const rivals = page.fleet.rivals.map(({ name }) => name);
  const rival = (score: LookBackScore, name: string) => {
    const found = score.rivals.find((one) => one.name === name);
    return found ? plain(found.missCents, 1) : '–';
  };
  return (
    <Scroll label="How far each way of foretelling missed">
      <table class="scores">
        <caption>All registers: mean miss in cents, less is better</caption>
        <thead>
          <tr>
            <td />
            {known.map(([scope, whose]) => (
              <th key={scope} scope="col" class="n">
                {whose}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          <tr>
            <th scope="row">What was said here</th>
            {known.map(([scope]) => (
              <td key={scope} class="n">
                <b>{plain(page[scope].missCents ?? 0, 1)}</b>
              </td>
            ))}
          </tr>
          {rivals.map((name) => (
            <tr key={name}>
              <th scope="row" class="rival">
                {name}
              </th>
              {known.map(([scope]) => (
                <td key={scope} class="n">
                  {rival(page[scope], name)}
                </td>
              ))}
            </tr>
          ))}
          <tr>
            <th scope="row">Found within the band, 80 % intended</th>
            {known.map(([scope]) => (
              <td key={scope} class="n">
                {percent((page[scope].coverage ?? 0) * 100)}
              </td>
            ))}
          </tr>
          <tr>
            <th scope="row">Intervals between visits</th>
            {known.map(([scope]) => (
              <td key={scope} class="n">
                {page[scope].intervals}
              </td>
            ))}
          </tr>
        </tbody>
      </table>
    </Scroll>
  );
}

interface LookBackProps {
  readonly page: LookBackPage | null;
  readonly register: Register;
  readonly timeZone: string;
}

export function LookBack({ page, register, timeZone }: LookBackProps) {
  return (
    <section class="look-back" aria-labelledby="look-back">
      <h3 id="look-back">{registerNames[register]}, what was said and what was found</h3>
      {page === null && (
        <p class="quiet" role="status">
          Going back through the visits …
        </p>
      )}
      {page && page.visits.length === 0 && (
        <p class="quiet">
          No visit could be scored yet: each needs a tuning before it and the air between them. Whatever is
          said now will be judged here.
        </p>
      )}
      {page && page.visits.length > 0 && (
        <>
          <VisitsTable visits={page.visits} register={register} timeZone={timeZone} />
          <p>
            <Said sentence={scoreWords('this piano', page.instrument)} />
          </p>
        </>
      )}
      {page && page.fleet.missCents !== null && (
        <>
          <Scores page={page} />
          <p>
            <Said sentence={scoreWords('the whole fleet', page.fleet)} />
          </p>
          <p class="quiet">
            Each word is worked out anew from what was known before its visit; the air up to the visit is
            taken as known, so it is the wood and the piano that are judged here, not the weather.
          </p>
        </>
      )}
    </section>
  );
}
