/** The way to pitch, where it is off: passes, how far beyond each register is left, what to heed. A proposal by common practice. */
import type { Pass, PassKind } from '../../server/contract/index.ts';
import { registers } from '../../server/contract/index.ts';
import { Cautions } from '../marks/cautions.tsx';
import { nbsp, signed } from '../words/numbers.ts';
import { correctionOf } from './correction.ts';
import type { Sheet } from './sheet-context.ts';

const kindWords: Readonly<Record<PassKind, string>> = {
  'to pitch': 'First to pitch',
  correction: 'Then correct',
  fine: 'Then fine',
};

/** "tenor +3, middle +2 cents"; what is left at pitch is not named. */
function left({ leaveCents }: Pass): string {
  const beyond = registers.flatMap((register) => {
    const cents = leaveCents[register];
    return cents === null || Math.round(cents) === 0 ? [] : [`${register} ${signed(cents)}`];
  });
  return beyond.length === 0 ? '' : `, leaving ${beyond.join(', ')}${nbsp}cents`;
}

const stringWork =
  'Each string pulls with 70 to 90 kg, all of them together with 15 to 20 tonnes. Let a string down before you take it off, wear eye protection and gloves, and let no section down far beside one at full tension.';

export function WayToPitch({ sheet }: { readonly sheet: Sheet }) {
  const { draft, brief } = sheet;
  const plan = correctionOf(draft, brief.pitchStandardHz);
  const { passes, cautions, tuneAgainWithinMonths: months } = plan;
  const more = passes.length > 1 || passes.some((pass) => left(pass) !== '');
  const steps = passes.map(
    (pass, i) =>
      `${i === 0 && passes.length === 2 ? 'First correct' : passes.length === 1 ? 'In one pass' : kindWords[pass.kind]}${left(pass)}`,
  );
  return (
    <div class="way-to-pitch">
      {more && (
        <p>
          {steps.join('. ')}.{months !== null && ` Tune again within ${months} months.`}{' '}
          <span class="quiet">By common practice; what is measured after a pass says more.</span>
        </p>
      )}
      <Cautions sentences={draft.stringWork ? [...cautions, stringWork] : cautions} />
    </div>
  );
}
