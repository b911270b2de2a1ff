/** The fleet by condition: what is worst, oldest, most used, most at risk; and what to renew first. */
import { useState } from 'preact/hooks';
import type { Class0to3, FleetRow } from '../../server/contract/index.ts';
import { Scroll } from '../marks/scroll.tsx';
import { Tally } from '../marks/tally.tsx';
import { useLive } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { capital, count } from '../words/numbers.ts';
import { conditionWords, useNames } from '../words/terms.ts';
import { shortDay } from '../words/times.ts';
import './fleet.css';

type Key = 'priority' | 'belly' | 'pinblock' | 'action' | 'case' | 'age' | 'use' | 'risk' | 'place';

const riskWords = ['no strain', 'some strain', 'much strain', 'beyond its limit'] as const;
const heavyUse = ['concert', 'studio', 'practice', 'worship', 'home'] as const;

/** Larger is first; null last. */
function weight(row: FleetRow, key: Key): number | null {
  switch (key) {
    case 'priority':
      return row.priority;
    case 'age':
      return row.ageYears;
    case 'use':
      return -heavyUse.indexOf(row.use);
    case 'risk':
      return row.climateRisk;
    case 'place':
      return 0;
    default:
      return row.classes[key];
  }
}

export function sorted(rows: readonly FleetRow[], key: Key): FleetRow[] {
  const place = (row: FleetRow) => `${row.venueName} ${row.roomName} ${row.name}`;
  return rows.toSorted((a, b) => {
    const [first, second] = [weight(a, key), weight(b, key)];
    if (first !== null && second !== null && first !== second) return second - first;
    if ((first === null) !== (second === null)) return first === null ? 1 : -1;
    return place(a).localeCompare(place(b));
  });
}

const columns: readonly (readonly [Key, string])[] = [
  ['place', 'Instrument'],
  ['priority', 'Priority'],
  ['belly', 'Belly'],
  ['pinblock', 'Pinblock'],
  ['action', 'Action'],
  ['case', 'Case'],
  ['age', 'Age'],
  ['use', 'Use'],
  ['risk', 'Climate'],
];

function Grade({ value }: { readonly value: Class0to3 | null }) {
  if (value === null) return <span class="quiet">–</span>;
  return (
    <>
      <Tally value={value} words={conditionWords[value]} />{' '}
      <span class="grade-word">{conditionWords[value]}</span>
    </>
  );
}

export function FleetPage() {
  const { answer, error } = useLive('fleet', {}, 60_000);
  const [key, setKey] = useState<Key>('priority');
  const rows = answer.value;
  if (!rows) {
    return (
      <Page title="Condition">
        <Waiting error={error.value} what="the fleet" />
      </Page>
    );
  }
  const major = rows.filter((row) => Object.values(row.classes).includes(3)).length;
  const never = rows.filter((row) => row.inspectedMs === null).length;
  return (
    <Page title="Condition">
      <h1>Condition of the fleet</h1>
      <p class="lead">
        {capital(count(major, 'instrument has', 'instruments have'))} a major finding;{' '}
        {never === 0 ? 'every one was inspected' : `${count(never, 'was', 'were')} never inspected`}.
      </p>
      <Stale error={error.value} />
      <p class="fleet-acts">
        <a href="/inventory">Inventory, labels, reports</a>
      </p>
      <Scroll label="The fleet">
        <table class="fleet">
          <thead>
            <tr>
              {columns.map(([name, title]) => (
                <th
                  key={name}
                  scope="col"
                  aria-sort={key === name ? (name === 'place' ? 'ascending' : 'descending') : undefined}
                >
                  <button type="button" class="link" onClick={() => setKey(name)}>
                    {title}
                    {key === name && <span aria-hidden="true"> {name === 'place' ? '↑' : '↓'}</span>}
                  </button>
                </th>
              ))}
              <th scope="col">Inspected</th>
            </tr>
          </thead>
          <tbody>
            {sorted(rows, key).map((row) => (
              <tr key={row.instrumentId}>
                <th scope="row">
                  <a href={`/instruments/${row.instrumentId}`}>{row.name}</a>
                  <span class="quiet">
                    {' '}
                    {row.venueName} · {row.roomName}
                    {row.openRemarks > 0 && `, ${row.openRemarks} reported`}
                  </span>
                </th>
                <td class="number">{row.priority ?? '–'}</td>
                <td>
                  <Grade value={row.classes.belly} />
                </td>
                <td>
                  <Grade value={row.classes.pinblock} />
                </td>
                <td>
                  <Grade value={row.classes.action} />
                </td>
                <td>
                  <Grade value={row.classes.case} />
                </td>
                <td class="number">{row.ageYears ?? '–'}</td>
                <td>{useNames[row.use]}</td>
                <td>{row.climateRisk === null ? '–' : riskWords[row.climateRisk]}</td>
                <td>
                  {row.inspectedMs === null ? (
                    '–'
                  ) : (
                    <a href={`/instruments/${row.instrumentId}/inspections`}>
                      {shortDay(row.inspectedMs, 'UTC')}
                    </a>
                  )}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
      <p class="quiet">
        Priority weighs use, the worst condition (belly and pinblock most, the case least) and what the
        climate does to it, 0 to 100. It orders a list; it decides nothing.
      </p>
    </Page>
  );
}
