/** What another climate would change: first in a sentence, then set against each other. */
import type { SetAgainst, WhatIfPage } from '../../server/contract/index.ts';
import { Cautions } from '../marks/cautions.tsx';
import { Said } from '../marks/said.tsx';
import { Scroll } from '../marks/scroll.tsx';
import { capital, nbsp, plain } from '../words/numbers.ts';
import { byWords, type Counted, days, inTable, rangeWords, tuningCount } from './difference-words.ts';

interface ResultProps {
  readonly page: WhatIfPage;
  /** What was asked: "The room held between 42 and 50 %". */
  readonly asked: string;
}

function sentence({ pastYear }: WhatIfPage): string {
  const { daysBeyond } = pastYear;
  const range = rangeWords(daysBeyond, 0);
  return (
    `${capital(byWords(daysBeyond.by, days))} out of tolerance in a year like the past one, ` +
    `${plain(daysBeyond.changed)} instead of ${plain(daysBeyond.asItIs)}` +
    `${range === 'none either way' ? '' : `; 8 in 10 ${range}`}.`
  );
}

/** The board's classes 1 to 3, each between its limits. */
const boardRows = [
  'Days with the board at 50 to 75\u00a0% of its limit',
  'Days at 75 to 100\u00a0%',
  'Days beyond its limit',
] as const;

type Row = readonly [name: string, set: SetAgainst, counted: Counted];

function rowsOf({ daysBeyond, pitchDays, unisonDays, tunings, boardDays }: WhatIfPage['pastYear']): Row[] {
  return [
    ['Days out of tolerance', daysBeyond, days],
    ['Of them with the pitch out', pitchDays, days],
    ['Of them with the unisons out', unisonDays, days],
    ['Tunings', tunings, tuningCount],
    ...boardDays.map((set, i): Row => [boardRows[i] ?? '', set, days]),
  ];
}

function Runs({ page }: { readonly page: WhatIfPage }) {
  const runs = [
    [`A year like the past one`, page.pastYear],
    [`The coming ${page.coming.days} days`, page.coming],
  ] as const;
  return (
    <Scroll label="As it is and as it would be">
      <table>
        <thead>
          <tr>
            <td />
            <th scope="col" class="n">
              As it is
            </th>
            <th scope="col" class="n">
              Changed
            </th>
            <th scope="col">Difference</th>
            <th scope="col">8 in 10</th>
          </tr>
        </thead>
        {runs.map(([name, run]) => (
          <tbody key={name}>
            <tr>
              <th scope="rowgroup" colSpan={5} class="run">
                {name}
              </th>
            </tr>
            {rowsOf(run).map(([what, set, counted]) => (
              <tr key={what}>
                <th scope="row">{what}</th>
                <td class="n">{plain(set.asItIs, counted.digits)}</td>
                <td class="n">{plain(set.changed, counted.digits)}</td>
                <td>{inTable(set, counted)}</td>
                <td class="quiet">{rangeWords(set, counted.digits)}</td>
              </tr>
            ))}
          </tbody>
        ))}
      </table>
    </Scroll>
  );
}

function water({ litresAdded, litresRemoved }: WhatIfPage): string | null {
  if (litresAdded === null || litresRemoved === null) return null;
  return `Water in such a year: about ${plain(litresAdded)}${nbsp}litres to be added and ${plain(litresRemoved)}${nbsp}litres to be taken out.`;
}

export function WhatIfResult({ page, asked }: ResultProps) {
  const litres = water(page);
  return (
    <div class="what-if-result" role="status">
      <h3>{asked}</h3>
      <p class="what-if-sentence">
        <Said sentence={sentence(page)} />
      </p>
      {litres && <p>{litres}</p>}
      <Runs page={page} />
      <p class="quiet">
        The model tunes whenever the piano has been out of tolerance for two weeks running; both runs go
        through the same days. On some days both the pitch and the unisons are out.
      </p>
      <Cautions sentences={[page.caution]} />
    </div>
  );
}
