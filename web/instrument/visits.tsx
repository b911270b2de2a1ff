/** What was recorded at this instrument, newest first. */
import type { InstrumentPage, PitchTaken, Visit } from '../../server/contract/index.ts';
import { cents, hertz, minutes, percent } from '../words/numbers.ts';
import { degrees } from '../words/temperature.ts';
import { longDay } from '../words/times.ts';

const order = ['a4', 'bass', 'tenor', 'middle', 'treble', 'top'] as const;
const names = {
  a4: 'A4',
  bass: 'bass',
  tenor: 'tenor',
  middle: 'middle',
  treble: 'treble',
  top: 'top',
} as const;

function taken(pitch: PitchTaken | null): string {
  const parts = order.flatMap((key) => {
    const reading = pitch?.[key];
    if (!reading) return [];
    return [`${names[key]} ${reading.unit === 'Hz' ? hertz(reading.value, 2) : cents(reading.value, 1)}`];
  });
  return parts.length === 0 ? '–' : parts.join(', ');
}

function spread(found: number | null, left: number | null): string {
  if (found === null && left === null) return '–';
  return `${found === null ? '–' : found.toFixed(1)} → ${left === null ? '–' : left.toFixed(1)}`;
}

function air({ conditions }: Visit): string {
  const parts = [
    ...(conditions.humidityPct === null ? [] : [percent(conditions.humidityPct)]),
    ...(conditions.temperatureC === null ? [] : [degrees(conditions.temperatureC)]),
  ];
  return parts.length === 0 ? '–' : parts.join(', ');
}

export function Visits({ instrument: i }: { readonly instrument: InstrumentPage }) {
  const visits = i.visits.toSorted((a, b) => b.atMs - a.atMs);
  const corrected = new Set(visits.flatMap(({ corrects }) => (corrects === null ? [] : [corrects])));
  return (
    <section class="visits" aria-labelledby="visits">
      <h2 id="visits">Visits</h2>
      {visits.length === 0 ? (
        <p class="quiet">None recorded yet. The first tuning gives the predictions something to stand on.</p>
      ) : (
        <div class="scroll" tabIndex={0} role="region" aria-labelledby="visits">
          <table>
            <thead>
              <tr>
                <th scope="col">When</th>
                <th scope="col">As found</th>
                <th scope="col">As left</th>
                <th scope="col">Unisons, cents</th>
                <th scope="col">Air there</th>
                <th scope="col">Took</th>
                <th scope="col">Note</th>
                <td />
              </tr>
            </thead>
            <tbody>
              {visits.map((visit) => (
                <tr key={visit.id} class={corrected.has(visit.id) ? 'corrected' : undefined}>
                  <th scope="row">
                    {longDay(visit.atMs, i.timeZone)}
                    {visit.by && <span class="quiet"> by {visit.by}</span>}
                    {corrected.has(visit.id) && <span class="quiet"> corrected later</span>}
                    {visit.corrects && <span class="quiet"> a correction</span>}
                  </th>
                  <td>{taken(visit.asFound)}</td>
                  <td>
                    {taken(visit.asLeft)}
                    {visit.stringWork && <span class="quiet"> with string work</span>}
                  </td>
                  <td>{spread(visit.unisonsFoundCents, visit.unisonsLeftCents)}</td>
                  <td>{air(visit)}</td>
                  <td>{visit.minutes === null ? '–' : minutes(visit.minutes)}</td>
                  <td class="note">{visit.note}</td>
                  <td>
                    {!corrected.has(visit.id) && (
                      <a href={`/instruments/${i.id}/visit?corrects=${visit.id}`}>
                        correct<span class="unseen"> the visit of {longDay(visit.atMs, i.timeZone)}</span>
                      </a>
                    )}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </section>
  );
}
