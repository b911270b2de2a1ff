/** The visit from its first line to its closing: one scroll in the order the work goes, the next step under the thumb. */
import { useState } from 'preact/hooks';
import type { Group } from '../../server/contract/index.ts';
import { groupsFor, itemOf } from '../../server/contract/index.ts';
import { CheckField } from '../form/field.tsx';
import { AreaLine, TextLine } from '../form/line.tsx';
import { isDone } from './answers.ts';
import { Assemblies } from './assemblies.tsx';
import { Closing } from './closing.tsx';
import type { Fault } from './faults.ts';
import { Opening } from './opening.tsx';
import { PhotoButton, PhotoStrip } from './photos.tsx';
import { PitchSection } from './pitch.tsx';
import { lineOf, type Sheet } from './sheet-context.ts';
import { ThumbBar } from './thumb-bar.tsx';
import { WayToPitch } from './way-to-pitch.tsx';
import { ControlService, WorkDone } from './work.tsx';

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
  const { draft, change, faults } = sheet;
  const groups = groupsFor(draft.kind);
  const [open, setOpen] = useState<readonly string[]>([]);
  const next = groups.find((group) => !isDone(draft, group)) ?? null;
  const setGroup = (group: Group, opened: boolean) =>
    setOpen((now) => [...now.filter((id) => id !== group.id), ...(opened ? [group.id] : [])]);
  const showItem = (itemId: string) => {
    const group = itemOf(itemId)?.group;
    if (group) setGroup(group, true);
    show(`item-${itemId}`);
  };
  /** It may stand in an assembly that was folded away. */
  const showFault = ({ field }: Fault) => {
    const marked = () => document.querySelector<HTMLElement>('.visit-sheet [aria-invalid="true"]');
    const itemId = /^pins\.\d+$/.test(field) ? 'pins.torque' : field.replace(/\.[^.]*$/, '');
    const group = itemOf(itemId)?.group;
    if (marked() || !group) return marked()?.focus();
    setGroup(group, true);
    requestAnimationFrame(() => marked()?.focus());
  };
  return (
    <div class={draft.inspects ? 'visit-sheet' : 'visit-sheet only-tuned'}>
      <Opening sheet={sheet} />
      {draft.inspects && <Outside sheet={sheet} />}
      <h2>Pitch as found</h2>
      <PitchSection sheet={sheet} side="found" />
      <WayToPitch sheet={sheet} />
      {draft.inspects && (
        <Assemblies
          sheet={sheet}
          open={open}
          onOpen={setGroup}
          onDone={(after) => show(after ? `group-${after.id}` : 'as-left', false)}
        />
      )}
      <h2 id="as-left">Pitch as left</h2>
      <PitchSection sheet={sheet} side="left" />
      <CheckField
        name="stringWork"
        label="Strings were replaced"
        hint="The time up to the next visit then says nothing about the wood, and is not learned from."
        checked={draft.stringWork}
        onValue={(stringWork) => change('strings replaced', (now) => ({ ...now, stringWork }))}
      />
      {draft.inspects && (
        <>
          <WorkDone sheet={sheet} />
          <ControlService sheet={sheet} />
        </>
      )}
      <AreaLine label="Note" rows={3} {...lineOf(sheet, 'note')} />
      <p class="quiet">The microphone of your keyboard writes here too.</p>
      <TextLine label="The visit took" keys="numeric" unit="min" {...lineOf(sheet, 'minutes')} />
      {!draft.inspects && (
        <p class="more">
          <button
            type="button"
            class="button quiet"
            onClick={() => {
              change('inspect as well', (now) => ({ ...now, inspects: true }));
              show('stage-closed', false);
            }}
          >
            More was done: inspect, note work, photos
          </button>
        </p>
      )}
      {draft.lastLook && <Closing sheet={sheet} onShow={showItem} />}
      {faults.length > 0 && (draft.lastLook || !draft.inspects) && (
        <p class="trouble" role="alert">
          To be put right first: {faults.map(({ sentence }) => sentence).join(' ')}
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
      <ThumbBar
        sheet={sheet}
        kept={kept}
        undo={undo}
        next={next}
        onNext={(group) => {
          setGroup(group, true);
          show(`group-${group.id}`);
        }}
        onClose={onClose}
        onFault={showFault}
      />
    </div>
  );
}

function Outside({ sheet }: { readonly sheet: Sheet }) {
  return (
    <>
      <div class="outside">
        <PhotoButton sheet={sheet} itemId={null} label="Photo of the outside, before work" />
        <span class="quiet">of the outside, before work</span>
      </div>
      <PhotoStrip sheet={sheet} photos={sheet.draft.photos.filter((photo) => photo.itemId === null)} />
    </>
  );
}
