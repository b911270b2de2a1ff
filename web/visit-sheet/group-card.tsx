/** An assembly: one tap for all of it without symptoms, or its items one by one. */
import type { Group } from '../../server/contract/index.ts';
import { findingsIn, isDone, restIsSound } from './answers.ts';
import { ItemRow } from './item-row.tsx';
import { Pins } from './pins.tsx';
import type { Sheet } from './sheet-context.ts';

interface Props {
  readonly sheet: Sheet;
  readonly group: Group;
  readonly open: boolean;
  readonly onOpen: (open: boolean) => void;
  /** Called once all of it is answered by the one tap. */
  readonly onDone: () => void;
}

function state(done: boolean, findings: number, answered: number): string {
  const found = findings === 0 ? '' : `${findings} ${findings === 1 ? 'finding' : 'findings'}`;
  if (done) return found === '' ? 'without symptoms' : found;
  return found === '' ? (answered === 0 ? '' : 'begun') : `${found}, begun`;
}

export function GroupCard({ sheet, group, open, onOpen, onDone }: Props) {
  const { draft, change } = sheet;
  const done = isDone(draft, group);
  const findings = findingsIn(draft, group);
  const answered = group.items.filter(({ id }) => draft.answers[id] !== undefined).length;
  const openBefore = sheet.brief.open.filter(({ finding }) =>
    group.items.some(({ id }) => id === finding.itemId),
  ).length;
  return (
    <section class="sheet-group" id={`group-${group.id}`} aria-labelledby={`group-${group.id}-name`}>
      <div class="group-head">
        <h3 id={`group-${group.id}-name`}>
          <button type="button" class="opens" aria-expanded={open} onClick={() => onOpen(!open)}>
            {group.name}
          </button>
        </h3>
        <span class="quiet">
          {state(done, findings, answered)}
          {!done && openBefore > 0 && ` ${openBefore} open from last time`}
        </span>
        {!done && (
          <button
            type="button"
            class="button quiet sound"
            onClick={() => {
              change(`${group.name}: without symptoms`, (now) => restIsSound(now, group));
              onOpen(false);
              onDone();
            }}
          >
            {answered === 0 ? 'Without symptoms' : 'Rest without symptoms'}
            <span class="unseen">: {group.name}</span>
          </button>
        )}
      </div>
      {open &&
        group.items.map((item) => (
          <div key={item.id}>
            <ItemRow sheet={sheet} item={item} />
            {item.sampled && <Pins sheet={sheet} item={item} />}
          </div>
        ))}
    </section>
  );
}
