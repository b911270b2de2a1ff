/** What belongs to an instrument between visits: what was reported, its reports, and where it was moved. */
import type { InstrumentPage } from '../../server/contract/index.ts';
import { useLive } from '../service/live.ts';
import { shortDay } from '../words/times.ts';
import { Moves } from './moves.tsx';
import { Reported } from './reported.tsx';
import './aftercare.css';

export function Aftercare({ instrument: i }: { readonly instrument: InstrumentPage }) {
  const inspected = i.visits.some((visit) => visit.findings.length > 0 || visit.sheet);
  const remarks = useLive('remarks', { query: { instrument: i.id } }, 60_000);
  return (
    <section class="aftercare">
      <Reported instrument={i} remarks={remarks.answer.value ?? []} />
      {i.visits.length > 0 && (
        <section aria-labelledby="reports">
          <h2 id="reports">Reports</h2>
          <ul>
            {i.visits.slice(0, 6).map((visit) => (
              <li key={visit.id}>
                {shortDay(visit.atMs, i.timeZone)}: <a href={`/api/visits/${visit.id}/report.pdf`}>report</a>
                <span class="unseen"> of {shortDay(visit.atMs, i.timeZone)}</span>,{' '}
                <a href={`/api/visits/${visit.id}/report.pdf?prices=no`}>without prices</a>
                <span class="unseen">, {shortDay(visit.atMs, i.timeZone)}</span>
              </li>
            ))}
          </ul>
          {inspected && (
            <p>
              <a href={`/instruments/${i.id}/inspections`}>Inspections side by side</a>
            </p>
          )}
        </section>
      )}
      <Moves instrument={i} />
    </section>
  );
}
