/** What to heed with the work that this visit's entries announce. Common practice; loads of strings: see the sources of the science. */
import { plain, typed } from '../words/numbers.ts';
import { pitchShown, type SheetDraft } from './draft.ts';
import { inUnit, standardNoteHz } from './pitch-arithmetic.ts';

/** From here on a tuning is a raise of pitch, cents. Common practice, no source. */
const raiseFromCents = 10;

export function flattestCents(draft: SheetDraft, standardHz: number): number | null {
  const cents = pitchShown(draft).flatMap((register) => {
    const { text, unit } = draft.found[register];
    const value = typed(text);
    if (value === null || Number.isNaN(value)) return [];
    const offset = inUnit({ unit, value }, 'cents', standardNoteHz(register, standardHz));
    return Number.isFinite(offset) ? [offset] : [];
  });
  return cents.length === 0 ? null : Math.min(...cents);
}

export function workCautions(draft: SheetDraft, standardHz: number): string[] {
  const flattest = flattestCents(draft, standardHz);
  const cautions: string[] = [];
  if (flattest !== null && flattest <= -raiseFromCents) {
    cautions.push(
      `Raising by ${plain(-flattest)} cents loads strings, plate and bridges. Strings can break: wear eye protection and keep your face out of their line. ` +
        'Look for rust, splices and cracks first; with a cracked plate, stop. Go up in passes, and tell the owner beforehand.',
    );
  }
  if (draft.stringWork) {
    cautions.push(
      'Each string pulls with 70 to 90 kg, all of them together with 15 to 20 tonnes. Let a string down before you take it off, wear eye protection and gloves, and let no section down far beside one at full tension.',
    );
  }
  return cautions;
}
