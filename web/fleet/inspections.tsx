/** One instrument's inspections over the years, item by item. */

import { useState } from 'preact/hooks';
import { useRoute } from 'preact-iso';
import type { Comparison } from '../../server/contract/index.ts';
import { Scroll } from '../marks/scroll.tsx';
import { Tally } from '../marks/tally.tsx';
import { useLive } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import { Waiting } from '../shell/waiting.tsx';
import { conditionWords } from '../words/terms.ts';
import { longDay, shortDay } from '../words/times.ts';
import './fleet.css';

const stands = { low: ', below normal', high: ', above normal', normal: ', normal' } as const;

type Item = Comparison['items'][number];

/** What moved between first and last look is what one compares for. */
function changed(item: Item): boolean {
  const known = item.grades.flatMap((one) => (one ? [one.conditionClass] : []));
  return known.some((one) => one !== known[0]);
}
const everFound = (item: Item): boolean => item.grades.some((one) => (one?.conditionClass ?? 0) > 0);

export function InspectionsPage() {
  const { params } = useRoute();
  const { answer, error } = useLive('inspections', { params: { id: params.id ?? '' } }, 300_000);
  const [all, setAll] = useState(false);
  const compared = answer.value;
  if (!compared) {
    return (
      <Page title="Inspections">
        <Waiting error={error.value} what="the inspections" />
      </Page>
    );
  }
  const shown = all ? compared.items : compared.items.filter((item) => everFound(item) || changed(item));
  const moved = compared.items.filter(changed).length;
  return (
    <Page title={`Inspections of ${compared.name}`}>
      <p class="crumbs">
        <a href={`/instruments/${compared.instrumentId}`}>{compared.name}</a>
      </p>
      <h1>Inspections side by side</h1>
      <p class="lead">
        {compared.visits.length === 0
          ? 'None yet.'
          : `${compared.visits.length} since ${longDay(compared.visits[0]?.atMs ?? 0, 'UTC')}; ${moved} of ${compared.items.length} items changed.`}
      </p>
      <p class="check-line">
        <label>
          <input type="checkbox" checked={all} onChange={(event) => setAll(event.currentTarget.checked)} />{' '}
          Also what was always without symptoms
        </label>
      </p>
      <Scroll label="Inspections side by side">
        <table class="fleet">
          <thead>
            <tr>
              <th scope="col">Item</th>
              {compared.visits.map((visit) => (
                <th key={visit.id} scope="col">
                  <a href={`/api/visits/${visit.id}/report.pdf`}>{shortDay(visit.atMs, 'UTC')}</a>
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {shown.map((item) => (
              <tr key={item.itemId}>
                <th scope="row">
                  {item.name} <span class="quiet">{item.assembly}</span>
                </th>
                {item.grades.map((one, i) => (
                  <td key={compared.visits[i]?.id}>
                    {one === null ? (
                      <span class="quiet">not seen</span>
                    ) : (
                      <>
                        <Tally value={one.conditionClass} words={conditionWords[one.conditionClass]} />{' '}
                        {conditionWords[one.conditionClass]}
                        {one.measured && (
                          <span class="quiet">
                            {' '}
                            {one.measured.value}&nbsp;{one.measured.unit}
                            {one.against ? stands[one.against] : ''}
                          </span>
                        )}
                        {one.words !== '' && <span class="quiet"> {one.words}</span>}
                      </>
                    )}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
    </Page>
  );
}
