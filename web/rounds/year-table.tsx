/** The bars once more as figures: months down, kinds of work across, and every venue's hours. */
import type { YearPlan } from '../../server/contract/index.ts';
import { Heads, number } from '../marks/heads.tsx';
import { Scroll } from '../marks/scroll.tsx';
import { plain } from '../words/numbers.ts';
import { monthName, type VenueYear } from './year-words.ts';

const oneDigit = (value: number): string => (value === 0 ? '–' : plain(value, 1));

export function YearTable({
  months,
  venue,
}: {
  readonly months: YearPlan['months'];
  readonly venue: VenueYear | null;
}) {
  const rows = months.map((one) => {
    const own = one.venues.filter(({ venueId }) => venue === null || venueId === venue.venueId);
    const sum = (of: 'tunings' | 'inspections' | 'others' | 'hours') =>
      own.reduce((total, each) => total + each[of], 0);
    return {
      ...one,
      tunings: sum('tunings'),
      inspections: sum('inspections'),
      others: sum('others'),
      own: sum('hours'),
    };
  });
  const total = (of: 'tunings' | 'inspections' | 'others' | 'own' | 'hours') =>
    rows.reduce((sum, row) => sum + row[of], 0);
  const available = months[1]?.available ?? 0;
  return (
    <Scroll label="Hours by month">
      <table class="year-table">
        {venue && <caption>{venue.venueName}</caption>}
        <Heads
          of={[
            'Month',
            number('Tunings'),
            number('Inspections'),
            number('Other work'),
            number('Hours'),
            venue && number('All venues'),
            available > 0 && number('Over'),
          ]}
        />
        <tbody>
          {rows.map((row) => (
            <tr key={row.month}>
              <th scope="row">{monthName(row.month, 'long')}</th>
              <td class="n">{row.tunings || '–'}</td>
              <td class="n">{row.inspections || '–'}</td>
              <td class="n">{row.others || '–'}</td>
              <td class="n">{oneDigit(row.own)}</td>
              {venue && <td class="n">{oneDigit(row.hours)}</td>}
              {available > 0 && (
                <td class={row.hours > row.available ? 'n urgent' : 'n'}>
                  {oneDigit(Math.max(0, row.hours - row.available))}
                </td>
              )}
            </tr>
          ))}
        </tbody>
        <tfoot>
          <tr>
            <th scope="row">The year</th>
            <td class="n">{total('tunings')}</td>
            <td class="n">{total('inspections')}</td>
            <td class="n">{total('others')}</td>
            <td class="n">{oneDigit(total('own'))}</td>
            {venue && <td class="n">{oneDigit(total('hours'))}</td>}
            {available > 0 && (
              <td class="n">
                {oneDigit(rows.reduce((sum, row) => sum + Math.max(0, row.hours - row.available), 0))}
              </td>
            )}
          </tr>
        </tfoot>
      </table>
    </Scroll>
  );
}
