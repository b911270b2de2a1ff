/** Unisons register by register: what the ear says in one tap, or what was measured; how many, and which. */
import type { SpreadWord } from '../../server/contract/index.ts';
import { registers, spreadWords } from '../../server/contract/index.ts';
import { registerNames } from '../words/terms.ts';
import { faultAt, type Sheet } from './sheet-context.ts';
import { changeUnisons, noUnisons, type UnisonEntry } from './unison-entries.ts';

/** About so wide, a proposal. */
const about: Readonly<Record<SpreadWord, string>> = {
  clean: 'about 1 cent',
  'slow beat': '2 to 3 cents',
  sour: 'over 3 cents',
};

interface Props {
  readonly sheet: Sheet;
  readonly side: 'found' | 'left';
}

export function Unisons({ sheet, side }: Props) {
  const { draft, change } = sheet;
  const entries = draft.unisonsBy[side];
  return (
    <details class="unisons" open={Object.keys(entries).length > 0}>
      <summary>Unisons, register by register</summary>
      <p class="hint">
        {spreadWords.map((word) => `${word}: ${about[word]}`).join('; ')}. What was not listened to stays
        empty.
      </p>
      {registers.map((register) => {
        const entry = entries[register] ?? noUnisons;
        const name = `${registerNames[register]}, as ${side}`;
        const field = `unisonsBy.${side}.${register}`;
        const fault = faultAt(sheet, field);
        const set = (what: Partial<UnisonEntry>, letters = '') =>
          change(
            `unisons of the ${register}`,
            (now) => ({
              ...now,
              unisonsBy: {
                ...now.unisonsBy,
                [side]: {
                  ...now.unisonsBy[side],
                  [register]: changeUnisons(now.unisonsBy[side][register], what),
                },
              },
            }),
            letters,
          );
        const text = (part: 'cents' | 'sampled' | 'notes', label: string) => (
          <input
            type="text"
            class={part === 'notes' ? undefined : 'number'}
            inputMode={part === 'notes' ? undefined : part === 'cents' ? 'decimal' : 'numeric'}
            autocomplete="off"
            autocapitalize={part === 'notes' ? 'characters' : undefined}
            placeholder={part === 'notes' ? 'which: C3 E3' : undefined}
            aria-label={`${label}: unisons of ${name}`}
            aria-invalid={fault ? 'true' : undefined}
            aria-describedby={fault ? `${field}-fault` : undefined}
            value={entry[part]}
            onInput={(event) => set({ [part]: event.currentTarget.value }, `${field}.${part}`)}
          />
        );
        return (
          <fieldset class="unison" key={register}>
            <legend>{registerNames[register]}</legend>
            <div class="chips">
              {spreadWords.map((word) => (
                <button
                  key={word}
                  type="button"
                  aria-pressed={entry.word === word}
                  onClick={() => set({ word: entry.word === word ? null : word })}
                >
                  {word}
                  <span class="unseen">: unisons of {name}</span>
                </button>
              ))}
            </div>
            <div class="line">
              <span class="entry">
                {text('cents', 'Measured')}
                <span class="unit">cents</span>
              </span>
              <span class="entry">
                {text('sampled', 'How many')}
                <span class="unit">sampled</span>
              </span>
              {text('notes', 'Which notes')}
            </div>
            {fault && (
              <p class="fault" role="alert" id={`${field}-fault`}>
                {fault}
              </p>
            )}
          </fieldset>
        );
      })}
    </details>
  );
}
