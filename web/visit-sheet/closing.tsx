/** Before it is closed: a last look through everything, what it takes, and the signature. */
import {
  groupsFor,
  itemOf,
  jobOf,
  type Kind,
  lookAgain,
  options,
  sumOf,
} from '../../server/contract/index.ts';
import { Cautions } from '../marks/cautions.tsx';
import { minutes } from '../words/numbers.ts';
import type { LineChange } from './draft.ts';
import { lookedAt } from './envelope.ts';
import { estimateOf, isDropped, proposedLines } from './estimate.ts';
import { faultAt, type Sheet } from './sheet-context.ts';
import { Signature } from './signature.tsx';

interface Props {
  readonly sheet: Sheet;
  readonly onShow: (itemId: string) => void;
}

export function Closing({ sheet, onShow }: Props) {
  const { draft, brief } = sheet;
  const looked = lookedAt(draft, brief.pitchStandardHz);
  const unanswered = lookAgain({ ...looked, pins: [], measured: {}, classes: looked.classes }).filter(
    ({ sentence }) => sentence.endsWith('not answered.'),
  );
  const others = lookAgain(looked).filter(({ sentence }) => !sentence.endsWith('not answered.'));
  return (
    <section class="closing" aria-labelledby="last-look">
      <h2 id="last-look" tabIndex={-1}>
        Before it is closed
      </h2>
      {others.length === 0 && unanswered.length === 0 && looked.notExamined.length === 0 && (
        <p>Everything was looked at, and nothing contradicts itself.</p>
      )}
      {others.length > 0 && (
        <ul class="look-again">
          {others.map(({ itemId, sentence }) => (
            <li key={sentence}>
              {sentence}{' '}
              {itemId && (
                <button type="button" class="link" onClick={() => onShow(itemId)}>
                  Look again<span class="unseen"> at {itemOf(itemId)?.item.name}</span>
                </button>
              )}
            </li>
          ))}
        </ul>
      )}
      <Names
        kind={draft.kind}
        title="Not examined, and named so in the report"
        ids={looked.notExamined}
        onShow={onShow}
      />
      <Names
        kind={draft.kind}
        title="Not answered, and left out of the report"
        ids={unanswered.flatMap(({ itemId }) => itemId ?? [])}
        onShow={onShow}
      />
      <Estimate sheet={sheet} />
      <Signature sheet={sheet} />
    </section>
  );
}

/** A whole assembly that was passed over is one line, not ten. */
function byGroup(ids: readonly string[], kind: Kind): { readonly id: string; readonly words: string }[] {
  return groupsFor(kind).flatMap((group) => {
    const here = group.items.filter(({ id }) => ids.includes(id));
    const [first] = here;
    if (!first) return [];
    if (here.length === group.items.length && here.length > 1) return [{ id: first.id, words: group.name }];
    return here.map(({ id, name }) => ({ id, words: `${group.name}: ${name}` }));
  });
}

function Names({
  title,
  ids,
  kind,
  onShow,
}: {
  readonly kind: Kind;
  readonly title: string;
  readonly ids: readonly string[];
  readonly onShow: (itemId: string) => void;
}) {
  if (ids.length === 0) return null;
  return (
    <div>
      <h3>{title}</h3>
      <ul class="names">
        {byGroup(ids, kind).map(({ id, words }) => (
          <li key={id}>
            <button type="button" class="link" onClick={() => onShow(id)}>
              {words}
            </button>
          </li>
        ))}
      </ul>
    </div>
  );
}

function Estimate({ sheet }: { readonly sheet: Sheet }) {
  const { draft, change, workshop, ownTimes } = sheet;
  const lines = proposedLines(draft, ownTimes);
  if (lines.length === 0) return null;
  const estimate = estimateOf(draft, workshop, ownTimes);
  const rate = workshop.ratePerHourCents;
  const sum = sumOf(estimate?.lines ?? [], rate);
  const money = (cents: number) =>
    new Intl.NumberFormat('en-GB', { style: 'currency', currency: workshop.currency }).format(cents / 100);
  const set = (job: string, part: LineChange, field = '') =>
    change(
      'estimate',
      (now) => ({ ...now, lines: { ...now.lines, [job]: { ...now.lines[job], ...part } } }),
      field,
    );
  return (
    <div class="estimate">
      <h3>What to do, and what it takes</h3>
      {lines.map((line) => {
        const dropped = isDropped(draft, line.job);
        const wrong = {
          likely: faultAt(sheet, `likely.${line.job}`),
          parts: faultAt(sheet, `parts.${line.job}`),
        };
        const { least, likely, most } = sumOf([line], null).minutes;
        return (
          <fieldset key={line.job} class={dropped ? 'line-of-work dropped' : 'line-of-work'}>
            <legend>
              {line.name}
              {line.count > 1 && `, ${line.count} times`}{' '}
              <span class="quiet">
                {minutes(least)} to {minutes(most)}, likely {minutes(likely)}
                {(ownTimes[line.job]?.count ?? 0) >= 3 && ', from your own times'}
                {draft.workDone.some(({ job }) => job === line.job) && ', done in this visit'}
              </span>
            </legend>
            <div class="line">
              <label>
                <span class="unseen">{line.name}: how needed</span>
                <select
                  value={line.option}
                  onChange={(event) => {
                    const option = options.find((one) => one === event.currentTarget.value);
                    if (option) set(line.job, { option });
                  }}
                >
                  {options.map((option) => (
                    <option key={option}>{option}</option>
                  ))}
                </select>
              </label>
              <label>
                <input
                  type="text"
                  inputMode="numeric"
                  class="number"
                  aria-label={`${line.name}: likely minutes${line.count > 1 ? ', each' : ''}`}
                  aria-invalid={wrong.likely ? 'true' : undefined}
                  placeholder={String(line.minutes.likely)}
                  value={draft.lines[line.job]?.likely ?? ''}
                  onInput={(event) =>
                    set(line.job, { likely: event.currentTarget.value }, `likely.${line.job}`)
                  }
                />
                <span class="unit">min</span>
              </label>
              <label>
                <input
                  type="text"
                  inputMode="decimal"
                  class="number"
                  aria-label={`${line.name}: parts${line.count > 1 ? ', each' : ''}`}
                  aria-invalid={wrong.parts ? 'true' : undefined}
                  placeholder="parts"
                  value={draft.lines[line.job]?.parts ?? ''}
                  onInput={(event) =>
                    set(line.job, { parts: event.currentTarget.value }, `parts.${line.job}`)
                  }
                />
                <span class="unit">{workshop.currency}</span>
              </label>
              <button type="button" class="link" onClick={() => set(line.job, { dropped: !dropped })}>
                {dropped ? 'Propose it' : 'Do not propose'}
                <span class="unseen"> {line.name}</span>
              </button>
            </div>
            {[wrong.likely, wrong.parts].map(
              (sentence) =>
                sentence && (
                  <p key={sentence} class="fault" role="alert">
                    {sentence}
                  </p>
                ),
            )}
          </fieldset>
        );
      })}
      <p>
        <b>
          Together {minutes(sum.minutes.least)} to {minutes(sum.minutes.most)}, likely{' '}
          {minutes(sum.minutes.likely)}
          {sum.cents &&
            `; ${money(sum.cents.least)} to ${money(sum.cents.most)}, likely ${money(sum.cents.likely)}`}
          .
        </b>
      </p>
      <Cautions
        sentences={[...new Set((estimate?.lines ?? []).flatMap(({ job }) => jobOf(job).caution ?? []))]}
      />
    </div>
  );
}
