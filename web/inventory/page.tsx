/** The inventory in and out, labels, blank sheets, season reports, and the terms estimates are made by. */
import { useState } from 'preact/hooks';
import type { InventoryPreview } from '../../server/contract/index.ts';
import { labelSheets } from '../../server/contract/index.ts';
import { SelectField, TextField } from '../form/field.tsx';
import { newId } from '../form/new-id.ts';
import { Scroll } from '../marks/scroll.tsx';
import { call } from '../service/call.ts';
import { refresh, useLive } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import { Waiting } from '../shell/waiting.tsx';
import { WorkshopForm } from './workshop.tsx';
import './inventory.css';
import { Heads } from '../marks/heads.tsx';

const sheetWords = {
  'a4-21': 'A4, 21 labels of 63.5 × 38.1 mm',
  'a4-24': 'A4, 24 labels of 70 × 37 mm',
  'letter-30': 'Letter, 30 labels of 66.7 × 25.4 mm',
} as const;

const doesWords = { new: 'new', changes: 'changes it', same: 'as it is', faulty: 'left out' } as const;
const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;

function Import() {
  const [csv, setCsv] = useState('');
  const [seen, setSeen] = useState<InventoryPreview | null>(null);
  const [id, setId] = useState(newId);
  const [said, setSaid] = useState('');
  const look = async (text: string) => {
    setCsv(text);
    setSeen(null);
    setSaid('Reading …');
    try {
      setSeen(await call('previewInventory', { body: { csv: text, timeZone: zone } }));
      setId(newId());
      setSaid('');
    } catch (error) {
      setSaid(error instanceof Error ? error.message : String(error));
    }
  };
  const keep = async () => {
    setSaid('Keeping …');
    try {
      const { made, changed, left } = await call('putInventory', {
        params: { id },
        body: { csv, timeZone: zone },
      });
      setSaid(`${made} made, ${changed} changed, ${left} left as they were.`);
      setSeen(null);
      await refresh();
    } catch (error) {
      setSaid(`Not kept: ${error instanceof Error ? error.message : String(error)}`);
    }
  };
  const good = seen?.rows.filter(({ does }) => does === 'new' || does === 'changes').length ?? 0;
  return (
    <section aria-labelledby="import">
      <h2 id="import">Bring in an inventory</h2>
      <p class="quiet">
        A CSV file with the columns venue, room, name, kind (grand or upright), and where known: id, time
        zone, size cm, year, serial, pitch Hz, use, remarks, and the board's. What the file has no column for
        stays as it is; an instrument that stands in another room there is moved to it as of today. Nothing is
        kept before you have seen each row.
      </p>
      <p>
        <label class="file-line">
          <span>CSV file</span>
          <input
            type="file"
            accept=".csv,text/csv"
            onChange={async (event) => {
              const file = event.currentTarget.files?.[0];
              if (file) await look(await file.text());
            }}
          />
        </label>
      </p>
      <p role="status">{said}</p>
      {seen?.faults.map(({ sentence }) => (
        <p key={sentence} class="trouble">
          {sentence}
        </p>
      ))}
      {seen && seen.rows.length > 0 && (
        <>
          <p>
            {good} of {seen.rows.length} rows would be kept.
            {seen.newVenues.length > 0 && ` New venues: ${seen.newVenues.join(', ')}.`}
            {seen.newRooms.length > 0 && ` New rooms: ${seen.newRooms.join(', ')}.`}
          </p>
          <div class="preview">
            <Scroll label="Rows of the file">
              <table>
                <Heads of={['Line', 'Instrument', 'Would be']} />
                <tbody>
                  {seen.rows.map((row) => (
                    <tr key={row.line}>
                      <td>{row.line}</td>
                      <th scope="row">
                        {row.name || '(no name)'} <span class="quiet">{row.place}</span>
                      </th>
                      <td>
                        {doesWords[row.does]}
                        {row.faults.map(({ sentence }) => (
                          <span key={sentence} class="trouble">
                            {' '}
                            {sentence}.
                          </span>
                        ))}
                      </td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </Scroll>
          </div>
          <button type="button" class="button" disabled={good === 0} onClick={() => void keep()}>
            Keep {good} {good === 1 ? 'row' : 'rows'}
          </button>
        </>
      )}
    </section>
  );
}

export function InventoryPage() {
  const venues = useLive('venues', {}, 300_000);
  const workshop = useLive('workshop', {}, 300_000);
  const [venue, setVenue] = useState('');
  const [sheet, setSheet] = useState<(typeof labelSheets)[number]>('a4-24');
  const [skip, setSkip] = useState('0');
  if (!venues.answer.value || !workshop.answer.value) {
    return (
      <Page title="Inventory" narrow>
        <Waiting error={venues.error.value ?? workshop.error.value} what="the inventory" />
      </Page>
    );
  }
  const used = /^\d{1,2}$/.test(skip.trim()) ? skip.trim() : '0';
  const labels = `/api/labels.pdf?sheet=${sheet}&skip=${used}${venue === '' ? '' : `&venue=${venue}`}`;
  return (
    <Page title="Inventory" narrow>
      <h1>Inventory, labels, reports</h1>
      <p class="lead">What goes in and out as a file, and what is printed.</p>
      <section>
        <h2>Take it out</h2>
        <p>
          <a href="/api/inventory.csv" download>
            The inventory with condition classes, as CSV
          </a>
          ; it can be brought in again.
        </p>
        <p>
          The visit sheet on paper: <a href="/api/blank-sheet.pdf?kind=grand">grand</a>,{' '}
          <a href="/api/blank-sheet.pdf?kind=upright">upright</a>.
        </p>
      </section>
      <section aria-labelledby="labels">
        <h2 id="labels">Labels</h2>
        <p class="quiet">
          Each code opens the visit sheet of its instrument at {window.location.origin}, the address this page
          was opened by: a phone must reach the service by the same.
        </p>
        <div class="fields">
          <SelectField
            name="venue"
            label="Of"
            value={venue}
            choices={[['', 'all venues'], ...venues.answer.value.map((one) => [one.id, one.name] as const)]}
            onValue={setVenue}
          />
          <SelectField
            name="sheet"
            label="Label sheet"
            value={sheet}
            choices={labelSheets.map((one) => [one, sheetWords[one]] as const)}
            onValue={setSheet}
          />
          <TextField name="skip" label="Labels already used" numeric value={skip} onValue={setSkip} />
        </div>
        <p>
          <a class="button quiet" href={labels}>
            Labels as PDF
          </a>
        </p>
      </section>
      <section aria-labelledby="seasons">
        <h2 id="seasons">The season of a venue</h2>
        <ul>
          {venues.answer.value.map((one) => (
            <li key={one.id}>
              <a href={`/api/venues/${one.id}/season.pdf`}>{one.name}, the last half year, as PDF</a>
            </li>
          ))}
        </ul>
      </section>
      <WorkshopForm begin={workshop.answer.value} />
      <Import />
    </Page>
  );
}
