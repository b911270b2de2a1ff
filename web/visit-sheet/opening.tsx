/** How a visit opens: what is to be expected, what was open last time, what was reported, who and in which air. */
import { itemOf } from '../../server/contract/index.ts';
import { AreaLine, TextLine, TimeLine } from '../form/line.tsx';
import { centsWithSd } from '../words/numbers.ts';
import { conditionWords, registerNames } from '../words/terms.ts';
import { longDay } from '../words/times.ts';
import { faultAt, lineOf, type Sheet } from './sheet-context.ts';

function expectation({ brief, draft }: Sheet): string {
  if (draft.corrects) return 'What was recorded stays; this takes its place.';
  const told = brief.expected
    .filter(({ offsetCents }) => offsetCents !== null)
    .toSorted((a, b) => Math.abs(b.offsetCents ?? 0) - Math.abs(a.offsetCents ?? 0))
    .slice(0, 2)
    .map(
      ({ register, offsetCents, sdCents }) =>
        `the ${registerNames[register].toLowerCase()} near ${centsWithSd(offsetCents ?? 0, sdCents ?? 0)}`,
    );
  const expect = told.length === 0 ? '' : `Expect ${told.join(', ')}. `;
  return expect + (brief.open.length === 0 ? 'Nothing is open from last time.' : '');
}

export function Opening({ sheet }: { readonly sheet: Sheet }) {
  const { draft, brief, change } = sheet;
  return (
    <>
      <p class="crumbs">
        {brief.venueName} · {brief.roomName} · <a href={`/instruments/${brief.instrumentId}`}>{brief.name}</a>
      </p>
      <h1>
        {draft.corrects ? 'Correct the visit' : draft.inspects ? 'Visit' : 'Tuning'},{' '}
        {longDay(draft.beganMs, brief.timeZone)}
      </h1>
      <p class="lead">{expectation(sheet)}</p>
      {brief.open.length > 0 && (
        <details class="open-before" open={draft.inspects && brief.open.length <= 4}>
          <summary>{brief.open.length} open from last time</summary>
          <ul>
            {brief.open.map(({ finding, visitId }) => (
              <li key={`${visitId}${finding.itemId ?? finding.part}`}>
                {finding.itemId ? itemOf(finding.itemId)?.item.name : finding.part}:{' '}
                {conditionWords[finding.conditionClass]}
                {finding.words === '' ? '' : `, ${finding.words}`}
              </li>
            ))}
          </ul>
        </details>
      )}
      {draft.carried.length > 0 && (
        <p class="quiet">Kept as they were found: {draft.carried.map(({ part }) => part).join(', ')}.</p>
      )}
      {brief.remarks.map((remark) => (
        <section class="remark" key={remark.id} aria-label={`Reported: ${remark.words}`}>
          <p>
            <b>Reported {longDay(remark.atMs, brief.timeZone)}</b>
            {remark.from === '' ? '' : `, ${remark.from}`}: “{remark.words}”
          </p>
          <AreaLine
            label="What was found"
            rows={2}
            fault={faultAt(sheet, `remark.${remark.id}`)}
            value={draft.remarks[remark.id] ?? ''}
            onValue={(answer) =>
              change(
                'answer',
                (now) => ({ ...now, remarks: { ...now.remarks, [remark.id]: answer } }),
                `remark.${remark.id}`,
              )
            }
          />
        </section>
      ))}
      <div class="lines">
        <TextLine label="By" maxLength={120} {...lineOf(sheet, 'by')} />
        <When sheet={sheet} />
        <TextLine label="Humidity at the piano" keys="decimal" unit="%" {...lineOf(sheet, 'humidity')} />
        <TextLine
          label="Temperature"
          keys="decimal"
          unit={`°${draft.temperatureUnit}`}
          {...lineOf(sheet, 'temperature')}
        />
      </div>
    </>
  );
}

/** Written at the instrument it needs no time: that is when it is closed. */
function When({ sheet }: { readonly sheet: Sheet }) {
  const { draft } = sheet;
  const line = <TimeLine label="When" name="at" {...lineOf(sheet, 'at', 'when')} />;
  if (draft.corrects || draft.at !== '') return line;
  return (
    <details class="when">
      <summary>Not just now</summary>
      {line}
    </details>
  );
}
