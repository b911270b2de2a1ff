/** One item: its grade in one tap, then, where there is something, what and where in a few more. */
import type { Class0to3, Item } from '../../server/contract/index.ts';
import {
  againstNormal,
  itemOf,
  normalRange,
  proposedRecommendation,
  proposedUrgency,
} from '../../server/contract/index.ts';
import { AreaLine, SelectLine, TextLine } from '../form/line.tsx';
import { Cautions } from '../marks/cautions.tsx';
import { conditionWords } from '../words/terms.ts';
import { changeAnswer, grade, toggleQuick } from './answers.ts';
import type { Answer } from './draft.ts';
import { measuredValue } from './measured.ts';
import { PhotoButton, PhotoStrip } from './photos.tsx';
import { faultAt, type Sheet } from './sheet-context.ts';

/** EN 16096:2012's classes in our words, short enough for a phone. */
const grades = [
  [0, 'None'],
  [1, 'Minor'],
  [2, 'Moderate'],
  [3, 'Major'],
  [null, 'Not seen'],
] as const;

const urgencies = ['long term', 'intermediate', 'short term', 'immediate'] as const;
const recommendations = [
  'nothing to do',
  'maintenance',
  'repair or closer examination',
  'major work',
] as const;
const against = { low: 'below normal', high: 'above normal', normal: 'normal' } as const;

interface Props {
  readonly sheet: Sheet;
  readonly item: Item;
}

export function ItemRow({ sheet, item }: Props) {
  const { draft, change } = sheet;
  const answer = draft.answers[item.id];
  const normal = normalRange(item, draft.kind);
  const open = sheet.brief.open.find(({ finding }) => finding.itemId === item.id)?.finding;
  const found = answer?.conditionClass !== null && (answer?.conditionClass ?? 0) > 0;
  return (
    <div class="sheet-item" id={`item-${item.id}`}>
      <fieldset class="grades">
        <legend>
          {item.name} <span class="quiet">{item.how}</span>
        </legend>
        {open && (
          <p class="before">
            Last time {conditionWords[open.conditionClass]}
            {open.words === '' ? '' : `: ${open.words}`}
          </p>
        )}
        <div class="grade-row">
          {grades.map(([value, words]) => (
            <label key={words}>
              <input
                type="radio"
                name={`grade-${item.id}`}
                checked={answer !== undefined && answer.conditionClass === value}
                onChange={() =>
                  change(`${item.name}: ${words.toLowerCase()}`, (now) =>
                    grade(now, item.id, value, Date.now()),
                  )
                }
              />
              <span>{words}</span>
            </label>
          ))}
        </div>
      </fieldset>
      {item.measure && !item.sampled && answer?.conditionClass !== null && (
        <Measured sheet={sheet} item={item} answer={answer} normal={normal} />
      )}
      {answer?.conditionClass === null && (
        <TextLine
          label="Why not seen"
          maxLength={200}
          value={answer.why}
          onValue={(why) =>
            change('why not seen', (now) => changeAnswer(now, item.id, { why }), `${item.id}.why`)
          }
        />
      )}
      {answer?.earlier.map((one, i) => (
        <TextLine
          key={one.atMs}
          label={`First graded ${conditionWords[one.conditionClass]}; changed because`}
          maxLength={400}
          value={one.why}
          onValue={(why) => {
            const earlier = answer.earlier.map((each, j) => (i === j ? { ...each, why } : each));
            change('why', (now) => changeAnswer(now, item.id, { earlier }), `${item.id}.earlier.${i}`);
          }}
        />
      ))}
      {answer && found && <Found sheet={sheet} item={item} answer={answer} />}
    </div>
  );
}

function Measured({
  sheet,
  item,
  answer,
  normal,
}: Props & { readonly answer: Answer | undefined; readonly normal: string | null }) {
  const { draft, change } = sheet;
  const { measure } = item;
  if (!measure) return null;
  const field = `${item.id}.value`;
  const value = answer ? measuredValue(item.id, answer.value, answer.unit) : null;
  const stands = value === null ? null : againstNormal(item, draft.kind, value);
  const fault = faultAt(sheet, field);
  return (
    <div class="line measured">
      <label>
        <span class="unseen">{item.name}, measured</span>
        <input
          type="text"
          inputMode="decimal"
          class="number"
          name={field}
          value={answer?.value ?? ''}
          aria-invalid={fault ? 'true' : undefined}
          aria-describedby={`${field}-note`}
          onInput={(event) => {
            const text = event.currentTarget.value;
            change(
              `${item.name}, measured`,
              (now) =>
                changeAnswer(now, item.id, {
                  value: text,
                  ...(now.answers[item.id] ? {} : { conditionClass: 0 }),
                }),
              field,
            );
          }}
        />
        <span class="unit">{measure.unit}</span>
      </label>
      <span id={`${field}-note`} class={fault ? 'fault' : 'quiet'} role={fault ? 'alert' : undefined}>
        {fault ?? (stands && stands !== 'normal' ? `${against[stands]}: ${normal}` : `normal ${normal}`)}
      </span>
    </div>
  );
}

function Found({ sheet, item, answer }: Props & { readonly answer: Answer }) {
  const { change, draft } = sheet;
  const set = (what: string, part: Partial<Answer>, field = '') =>
    change(`${item.name}: ${what}`, (now) => changeAnswer(now, item.id, part), field);
  const conditionClass = (answer.conditionClass ?? 0) as Class0to3;
  const causes = [...(item.causes ?? []), ...alsoFound(draft.answers, item.id)].filter(
    (one, i, all) => all.indexOf(one) === i,
  );
  return (
    <div class="found">
      <Cautions sentences={item.caution ? [item.caution] : []} />
      <fieldset class="chips">
        <legend class="unseen">{`${item.name}: what it is`}</legend>
        {item.quick.map((word) => (
          <button
            key={word}
            type="button"
            aria-pressed={answer.quick.includes(word)}
            onClick={() => change(`${item.name}: ${word}`, (now) => toggleQuick(now, item.id, word))}
          >
            {word}
          </button>
        ))}
      </fieldset>
      <AreaLine
        label="Note"
        rows={2}
        fault={faultAt(sheet, `${item.id}.words`)}
        value={answer.words}
        onValue={(words) => set('note', { words }, `${item.id}.words`)}
      />
      <div class="line notes-range">
        {(['lowNote', 'highNote'] as const).map((which) => {
          const field = `${item.id}.${which === 'lowNote' ? 'low' : 'high'}`;
          const fault = faultAt(sheet, field);
          return (
            <label key={which}>
              <span>{which === 'lowNote' ? 'Notes from' : 'to'}</span>
              <input
                type="text"
                size={4}
                maxLength={4}
                autocapitalize="characters"
                autocomplete="off"
                placeholder={which === 'lowNote' ? 'A0' : 'C8'}
                value={answer[which]}
                aria-invalid={fault ? 'true' : undefined}
                onInput={(event) => set('notes', { [which]: event.currentTarget.value }, field)}
              />
              {fault && (
                <span class="fault" role="alert">
                  {fault}
                </span>
              )}
            </label>
          );
        })}
        <PhotoButton sheet={sheet} itemId={item.id} label={`Photo of ${item.name.toLowerCase()}`} />
      </div>
      <PhotoStrip sheet={sheet} photos={draft.photos.filter((photo) => photo.itemId === item.id)} />
      <details>
        <summary>
          {urgencies[answer.urgencyClass ?? proposedUrgency(item, conditionClass)]},{' '}
          {recommendations[answer.recommendationClass ?? proposedRecommendation(conditionClass)]}
        </summary>
        <Choice
          label="How soon"
          words={urgencies}
          value={answer.urgencyClass ?? proposedUrgency(item, conditionClass)}
          onValue={(urgencyClass) => set('how soon', { urgencyClass })}
        />
        <Choice
          label="What to do"
          words={recommendations}
          value={answer.recommendationClass ?? proposedRecommendation(conditionClass)}
          onValue={(recommendationClass) => set('what to do', { recommendationClass })}
        />
        {causes.length > 0 && (
          <SelectLine
            label="Because of"
            value={answer.causedBy ?? ''}
            choices={[
              ['', 'nothing else here'],
              ...causes.map((id) => [id, itemOf(id)?.item.name ?? id] as const),
            ]}
            onValue={(causedBy) => set('because of', { causedBy: causedBy || null })}
          />
        )}
      </details>
    </div>
  );
}

const alsoFound = (answers: Sheet['draft']['answers'], itemId: string): string[] =>
  Object.entries(answers).flatMap(([id, { conditionClass }]) =>
    id !== itemId && conditionClass ? [id] : [],
  );

function Choice({
  label,
  words,
  value,
  onValue,
}: {
  readonly label: string;
  readonly words: readonly string[];
  readonly value: Class0to3;
  readonly onValue: (value: Class0to3) => void;
}) {
  return (
    <SelectLine
      label={label}
      value={String(value)}
      choices={words.map((word, i) => [String(i), word] as const)}
      onValue={(picked) => onValue(Number(picked) as Class0to3)}
    />
  );
}
