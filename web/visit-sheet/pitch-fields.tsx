/** One side of a visit, as found or as left: a field for each register, or for A4 alone. */
import { useId } from 'preact/hooks';
import type { Register } from '../../server/contract/index.ts';
import { registers } from '../../server/contract/index.ts';
import { cents, hertz, plain, signed, typed } from '../words/numbers.ts';
import { registerNames } from '../words/terms.ts';
import type { Entry, PitchEntries } from './draft.ts';
import { inUnit, type PitchUnit, sampleNotes, standardNoteHz } from './pitch-arithmetic.ts';

interface PitchFieldsProps {
  readonly side: 'asFound' | 'asLeft';
  readonly legend: string;
  readonly entries: PitchEntries;
  readonly scope: 'registers' | 'A4';
  readonly unit: PitchUnit;
  readonly standardHz: number;
  readonly faultOf: (field: string) => string | null;
  readonly onEntries: (entries: PitchEntries) => void;
}

/** An entry in the unit that is shown: as typed where it was typed in it, converted otherwise. */
function shownText(entry: Entry, unit: PitchUnit, noteHz: number): string {
  if (entry.unit === unit) return entry.text;
  const value = typed(entry.text);
  if (value === null) return '';
  const converted = Number.isNaN(value) ? value : inUnit({ unit: entry.unit, value }, unit, noteHz);
  if (!Number.isFinite(converted)) return entry.text;
  return unit === 'Hz' ? plain(converted, 2) : signed(converted, 1);
}

/** What the entry is in the other unit. */
function besideText(entry: Entry, unit: PitchUnit, noteHz: number): string {
  const value = typed(entry.text);
  if (value === null || Number.isNaN(value)) return unit === 'Hz' ? `${hertz(noteHz, 2)} is right` : '';
  const other = unit === 'Hz' ? 'cents' : 'Hz';
  const converted = inUnit({ unit: entry.unit, value }, other, noteHz);
  if (!Number.isFinite(converted)) return '';
  return other === 'cents' ? cents(converted, 1) : hertz(converted, 2);
}

/** Phones' number keys have no minus: one press turns sharp to flat. */
function turned(text: string): string {
  const bare = text.trim().replace(/^[+\-\u2212]\s*/, '');
  return /^\s*[-\u2212]/.test(text) ? bare : `\u2212${bare}`;
}

export function PitchFields(props: PitchFieldsProps) {
  const { side, legend, entries, scope, unit, standardHz, faultOf, onEntries } = props;
  const id = useId();
  const shown: readonly Register[] = scope === 'A4' ? ['middle'] : registers;
  const set = (register: Register, entry: Entry) => onEntries({ ...entries, [register]: entry });
  const allRight = () =>
    onEntries({
      ...entries,
      ...Object.fromEntries(
        shown.map((register) => [
          register,
          { unit, text: unit === 'cents' ? '0' : standardNoteHz(register, standardHz).toFixed(2) },
        ]),
      ),
    });
  return (
    <fieldset class="pitch-fields">
      <legend>{legend}</legend>
      {shown.map((register) => {
        const noteHz = standardNoteHz(register, standardHz);
        const entry = entries[register];
        const text = shownText(entry, unit, noteHz);
        const field = `${side}.${register}`;
        const name = scope === 'A4' ? 'A4' : registerNames[register];
        const fault = faultOf(field) ?? (scope === 'A4' ? faultOf(`${side}.a4`) : null);
        return (
          <div key={register} class="pitch-field">
            <label for={`${id}-${register}`}>
              {name}
              {scope === 'registers' && unit === 'Hz' && (
                <span class="quiet"> {sampleNotes[register].name}</span>
              )}
            </label>
            {unit === 'cents' && (
              <button
                type="button"
                class="turn"
                aria-label={`${name}, ${legend.toLowerCase()}: turn between flat and sharp`}
                onClick={() => set(register, { unit, text: turned(text) })}
              >
                ±
              </button>
            )}
            <input
              id={`${id}-${register}`}
              name={field}
              class="number"
              inputMode="decimal"
              autocomplete="off"
              value={text}
              aria-invalid={fault ? 'true' : undefined}
              aria-describedby={`${id}-${register}-beside`}
              onInput={(event) => set(register, { unit, text: event.currentTarget.value })}
            />
            <span class="unit">{unit}</span>
            <span class="beside quiet" id={`${id}-${register}-beside`}>
              {fault ? <span class="fault">{fault}</span> : besideText(entry, unit, noteHz)}
            </span>
          </div>
        );
      })}
      {side === 'asLeft' && (
        <button type="button" class="button quiet small" onClick={allRight}>
          {scope === 'A4' ? `Left at ${hertz(standardHz)}` : 'All left at the standard'}
        </button>
      )}
    </fieldset>
  );
}
