/** The sheet from its first line to its closing: one scroll in the order the work goes, the next step under the thumb. */
import { useState } from 'preact/hooks';
import type { Group, Stage } from '../../server/contract/index.ts';
import { groupsFor, itemOf, stages } from '../../server/contract/index.ts';
import { Cautions } from '../marks/cautions.tsx';
import { capital, centsWithSd } from '../words/numbers.ts';
import { registerNames } from '../words/terms.ts';
import { longDay } from '../words/times.ts';
import { isDone } from './answers.ts';
import { Closing } from './closing.tsx';
import { GroupCard } from './group-card.tsx';
import { gradeWords } from './item-row.tsx';
import { PhotoButton, PhotoStrip } from './photos.tsx';
import { PitchSection } from './pitch.tsx';
import { faultAt, type Sheet } from './sheet-context.ts';
import { ControlService, WorkDone } from './work.tsx';

const stageWords: Readonly<Record<Stage, string>> = {
  closed: 'Closed',
  opened: 'Opened',
  'from below': 'From below, with a lamp',
  'action out': 'Action out',
  'action back in': 'Action back in',
};
const stageCautions: Partial<Record<Stage, string>> = {
  opened: 'Protect the finish. Lids and case parts are heavy and slip: two hands, or two people.',
  'action out':
    'Press no key and no shift pedal while the action slides, and watch the hammers under the pinblock. It is heavy: clear its place first.',
};

function expectation({ brief }: Sheet): string {
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

/** Brings the next thing under the eye, and gives it the keyboard. */
function show(id: string, focus = true): void {
  requestAnimationFrame(() => {
    const target = document.getElementById(id);
    target?.scrollIntoView({ block: 'start' });
    if (focus) target?.querySelector<HTMLElement>('button, input')?.focus({ preventScroll: true });
  });
}

interface Props {
  readonly sheet: Sheet;
  /** "on this device", or what stands in the way of it. */
  readonly kept: string;
  readonly undo: { readonly what: string; readonly run: () => void } | null;
  readonly onClose: () => void;
  readonly onDrop: () => void;
  readonly trouble: string | null;
}

export function VisitSheetForm({ sheet, kept, undo, onClose, onDrop, trouble }: Props) {
  const { draft, brief, change } = sheet;
  const groups = groupsFor(draft.kind);
  const [open, setOpen] = useState<readonly string[]>([]);
  const answered = Object.keys(draft.answers).length;
  const all = groups.reduce((sum, group) => sum + group.items.length, 0);
  const next = groups.find((group) => !isDone(draft, group));
  const openGroup = (group: Group) => {
    setOpen((now) => [...now.filter((id) => id !== group.id), group.id]);
    show(`group-${group.id}`);
  };
  const showItem = (itemId: string) => {
    const group = itemOf(itemId)?.group;
    if (group) setOpen((now) => [...now, group.id]);
    show(`item-${itemId}`);
  };
  const text = (field: 'humidity' | 'temperature' | 'by' | 'minutes', label: string, unit = '') => {
    const fault = faultAt(sheet, field);
    return (
      <label class="line">
        <span>{label}</span>
        <input
          type="text"
          class={unit === '' ? undefined : 'number'}
          inputMode={unit === '' ? undefined : 'decimal'}
          maxLength={120}
          value={draft[field]}
          aria-invalid={fault ? 'true' : undefined}
          onInput={(event) => {
            const value = event.currentTarget.value;
            change(label.toLowerCase(), (now) => ({ ...now, [field]: value }), field);
          }}
        />
        {unit !== '' && <span class="unit">{unit}</span>}
        {fault && (
          <span class="fault" role="alert">
            {fault}
          </span>
        )}
      </label>
    );
  };
  return (
    <div class="visit-sheet">
      <p class="crumbs">
        {brief.venueName} · {brief.roomName} · <a href={`/instruments/${brief.instrumentId}`}>{brief.name}</a>
      </p>
      <h1>Visit, {longDay(draft.beganMs, brief.timeZone)}</h1>
      <p class="lead">{expectation(sheet)}</p>
      {brief.open.length > 0 && (
        <details class="open-before" open={brief.open.length <= 4}>
          <summary>{brief.open.length} open from last time</summary>
          <ul>
            {brief.open.map(({ finding, visitId }) => (
              <li key={`${visitId}${finding.itemId ?? finding.part}`}>
                {finding.itemId ? itemOf(finding.itemId)?.item.name : finding.part}:{' '}
                {gradeWords[finding.conditionClass]}
                {finding.words === '' ? '' : `, ${finding.words}`}
              </li>
            ))}
          </ul>
        </details>
      )}
      {brief.remarks.map((remark) => (
        <section class="remark" key={remark.id} aria-label={`Reported: ${remark.words}`}>
          <p>
            <b>Reported {longDay(remark.atMs, brief.timeZone)}</b>
            {remark.from === '' ? '' : `, ${remark.from}`}: “{remark.words}”
          </p>
          <label class="line">
            <span>What was found</span>
            <textarea
              rows={2}
              maxLength={4000}
              value={draft.remarks[remark.id] ?? ''}
              onInput={(event) => {
                const answer = event.currentTarget.value;
                change(
                  'answer',
                  (now) => ({ ...now, remarks: { ...now.remarks, [remark.id]: answer } }),
                  `remark.${remark.id}`,
                );
              }}
            />
          </label>
        </section>
      ))}
      <div class="lines">
        {text('by', 'By')}
        {text('humidity', 'Humidity at the piano', '%')}
        {text('temperature', 'Temperature', '°C')}
      </div>
      <div class="outside">
        <PhotoButton sheet={sheet} itemId={null} label="Photo of the outside, before work" />
        <span class="quiet">of the outside, before work</span>
      </div>
      <PhotoStrip sheet={sheet} photos={draft.photos.filter((photo) => photo.itemId === null)} />
      <h2>Pitch as found</h2>
      <PitchSection sheet={sheet} side="found" />
      {stages.map((stage) => {
        const here = groups.filter((group) => group.stage === stage);
        return (
          <section key={stage} class="stage" aria-labelledby={`stage-${stage}`}>
            <h2 id={`stage-${stage}`}>{stageWords[stage]}</h2>
            <Cautions sentences={stageCautions[stage] ? [stageCautions[stage]] : []} />
            {stage === 'opened' && (
              <label class="line">
                <span>Screws and case parts, where they lie</span>
                <input
                  type="text"
                  maxLength={400}
                  value={draft.takenOff}
                  onInput={(event) => {
                    const takenOff = event.currentTarget.value;
                    change('parts taken off', (now) => ({ ...now, takenOff }), 'takenOff');
                  }}
                />
              </label>
            )}
            {here.map((group) => (
              <GroupCard
                key={group.id}
                sheet={sheet}
                group={group}
                open={open.includes(group.id)}
                onOpen={(opened) =>
                  setOpen((now) => (opened ? [...now, group.id] : now.filter((id) => id !== group.id)))
                }
                onDone={() => {
                  const after = groups[groups.indexOf(group) + 1];
                  show(after ? `group-${after.id}` : 'as-left', false);
                }}
              />
            ))}
          </section>
        );
      })}
      <h2 id="as-left">Pitch as left</h2>
      <PitchSection sheet={sheet} side="left" />
      <label class="check">
        <input
          type="checkbox"
          checked={draft.stringWork}
          onChange={(event) => {
            const stringWork = event.currentTarget.checked;
            change('strings replaced', (now) => ({ ...now, stringWork }));
          }}
        />
        <span>Strings were replaced</span>
      </label>
      <WorkDone sheet={sheet} />
      <ControlService sheet={sheet} />
      <label class="line">
        <span>Note</span>
        <textarea
          rows={3}
          maxLength={20_000}
          value={draft.note}
          onInput={(event) => {
            const note = event.currentTarget.value;
            change('note', (now) => ({ ...now, note }), 'note');
          }}
        />
      </label>
      <p class="quiet">The microphone of your keyboard writes here too.</p>
      {text('minutes', 'The visit took', 'min')}
      {draft.lastLook && <Closing sheet={sheet} onShow={showItem} />}
      {sheet.faults.length > 0 && draft.lastLook && (
        <p class="trouble" role="alert">
          To be put right first: {sheet.faults.map(({ sentence }) => sentence).join(' ')}
        </p>
      )}
      <p class="trouble" role="alert">
        {trouble}
      </p>
      <p class="drop">
        <button type="button" class="link" onClick={onDrop}>
          Throw this visit away
        </button>
      </p>
      <div class="thumb-bar">
        <p role="status">
          {answered} of {all} looked at · {kept}
        </p>
        <div>
          <button type="button" class="button quiet" disabled={!undo} onClick={() => undo?.run()}>
            Undo<span class="unseen">{undo ? `: ${undo.what}` : ''}</span>
          </button>
          {draft.lastLook ? (
            <button type="button" class="button" disabled={sheet.faults.length > 0} onClick={onClose}>
              Close the visit
            </button>
          ) : next ? (
            <button type="button" class="button" onClick={() => openGroup(next)}>
              Next: {capital(next.name)}
            </button>
          ) : (
            <LookOver sheet={sheet} />
          )}
          {!draft.lastLook && next && <LookOver sheet={sheet} quiet />}
        </div>
      </div>
    </div>
  );
}

function LookOver({ sheet, quiet = false }: { readonly sheet: Sheet; readonly quiet?: boolean }) {
  return (
    <button
      type="button"
      class={quiet ? 'button quiet' : 'button'}
      onClick={() => {
        sheet.change('the last look', (now) => ({ ...now, lastLook: true }));
        requestAnimationFrame(() => {
          const heading = document.getElementById('last-look');
          heading?.scrollIntoView({ block: 'start' });
          heading?.focus({ preventScroll: true });
        });
      }}
    >
      Look it over
    </button>
  );
}
