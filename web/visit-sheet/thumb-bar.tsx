/** What stands under the thumb: how far it is, undo, and the one next step. */
import type { Group } from '../../server/contract/index.ts';
import { groupsFor } from '../../server/contract/index.ts';
import { capital } from '../words/numbers.ts';
import type { Fault } from './faults.ts';
import type { Sheet } from './sheet-context.ts';

interface Props {
  readonly sheet: Sheet;
  readonly kept: string;
  readonly undo: { readonly what: string; readonly run: () => void } | null;
  /** The first assembly that lacks answers. */
  readonly next: Group | null;
  readonly onNext: (group: Group) => void;
  readonly onClose: () => void;
  /** It cannot be closed: leads to the field that says why. */
  readonly onFault: (fault: Fault) => void;
}

export function ThumbBar({ sheet, kept, undo, next, onNext, onClose, onFault }: Props) {
  const { draft, faults } = sheet;
  const all = groupsFor(draft.kind).reduce((sum, group) => sum + group.items.length, 0);
  const closing = draft.lastLook || !draft.inspects;
  const [fault] = faults;
  return (
    <div class="thumb-bar">
      <p role="status">
        {draft.inspects && `${Object.keys(draft.answers).length} of ${all} looked at · `}
        {kept}
      </p>
      <div>
        <button type="button" class="button quiet" disabled={!undo} onClick={() => undo?.run()}>
          Undo<span class="unseen">{undo ? `: ${undo.what}` : ''}</span>
        </button>
        {closing ? (
          <button type="button" class="button" onClick={() => (fault ? onFault(fault) : onClose())}>
            {draft.corrects ? 'Send the correction' : 'Close the visit'}
          </button>
        ) : next ? (
          <button type="button" class="button" onClick={() => onNext(next)}>
            Next: {capital(next.name)}
          </button>
        ) : (
          <LookOver sheet={sheet} />
        )}
        {!closing && next && <LookOver sheet={sheet} quiet />}
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
