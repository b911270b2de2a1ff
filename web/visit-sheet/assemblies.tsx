/** The inspection: assemblies gathered by the state the instrument is in, in the order the work goes. */
import type { Group, Stage } from '../../server/contract/index.ts';
import { groupsFor, stages } from '../../server/contract/index.ts';
import { TextLine } from '../form/line.tsx';
import { Cautions } from '../marks/cautions.tsx';
import { GroupCard } from './group-card.tsx';
import type { Sheet } from './sheet-context.ts';

const stageWords: Readonly<Record<Stage, string>> = {
  closed: 'Closed',
  opened: 'Opened',
  'from below': 'From below, with a lamp',
  'action out': 'Action out',
  'action back in': 'Action back in',
};
const slides =
  'Press no key and no shift pedal while the action slides, and watch the hammers under the pinblock.';
const stageCautions: Partial<Record<Stage, string>> = {
  opened: 'Protect the finish. Lids and case parts are heavy and slip: two hands, or two people.',
  'action out': `${slides} It is heavy: clear its place first.`,
  'action back in': slides,
};

interface Props {
  readonly sheet: Sheet;
  readonly open: readonly string[];
  readonly onOpen: (group: Group, open: boolean) => void;
  /** All of it is answered: on to the next, or to what comes after the last. */
  readonly onDone: (next: Group | null) => void;
}

export function Assemblies({ sheet, open, onOpen, onDone }: Props) {
  const { draft, change } = sheet;
  const groups = groupsFor(draft.kind);
  return (
    <>
      {stages.map((stage) => (
        <section key={stage} class="stage" aria-labelledby={`stage-${stage}`}>
          <h2 id={`stage-${stage}`}>{stageWords[stage]}</h2>
          <Cautions sentences={stageCautions[stage] ? [stageCautions[stage]] : []} />
          {stage === 'opened' && (
            <TextLine
              label="Screws and case parts, where they lie"
              maxLength={400}
              value={draft.takenOff}
              onValue={(takenOff) => change('parts taken off', (now) => ({ ...now, takenOff }), 'takenOff')}
            />
          )}
          {groups
            .filter((group) => group.stage === stage)
            .map((group) => (
              <GroupCard
                key={group.id}
                sheet={sheet}
                group={group}
                open={open.includes(group.id)}
                onOpen={(opened) => onOpen(group, opened)}
                onDone={() => onDone(groups[groups.indexOf(group) + 1] ?? null)}
              />
            ))}
        </section>
      ))}
    </>
  );
}
