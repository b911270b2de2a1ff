/** Pitch as found, before work, or as left, after it, with the spread of unisons. */

import { TextLine } from '../form/line.tsx';
import { Segments } from '../form/segments.tsx';
import { PitchFields } from './pitch-fields.tsx';
import { faultAt, type Sheet } from './sheet-context.ts';
import { Unisons } from './unisons.tsx';

export function PitchSection({ sheet, side }: { readonly sheet: Sheet; readonly side: 'found' | 'left' }) {
  const { draft, change, brief } = sheet;
  const words = side === 'found' ? 'As found' : 'As left';
  const unisons = side === 'found' ? 'unisonsFound' : 'unisonsLeft';
  return (
    <section class="sheet-pitch" aria-label={`Pitch, ${words.toLowerCase()}`}>
      {side === 'found' && (
        <div class="pitch-choices">
          <Segments
            legend="Pitch of"
            name="sheet-scope"
            value={draft.scope}
            choices={[
              ['registers', 'each register'],
              ['A4', 'A4 alone'],
            ]}
            onChoose={(scope) => change('which notes', (now) => ({ ...now, scope }))}
          />
          <Segments
            legend="read in"
            name="sheet-unit"
            value={draft.pitchUnit}
            choices={[
              ['cents', 'cents'],
              ['Hz', 'Hz'],
            ]}
            onChoose={(pitchUnit) => change('unit', (now) => ({ ...now, pitchUnit }))}
          />
        </div>
      )}
      <PitchFields
        side={side === 'found' ? 'asFound' : 'asLeft'}
        legend={words}
        entries={draft[side]}
        scope={draft.scope}
        unit={draft.pitchUnit}
        standardHz={brief.pitchStandardHz}
        faultOf={(field) => faultAt(sheet, field)}
        onEntries={(entries) =>
          change(`pitch ${words.toLowerCase()}`, (now) => ({ ...now, [side]: entries }), side)
        }
      />
      <TextLine
        label="Spread of unisons"
        name={side === 'found' ? 'unisonsFoundCents' : 'unisonsLeftCents'}
        keys="decimal"
        unit="cents"
        value={draft[unisons]}
        fault={faultAt(sheet, unisons)}
        onValue={(text) => change('unisons', (now) => ({ ...now, [unisons]: text }), unisons)}
      />
      <p class="hint">The spread nine in ten unisons stay below; a few of the worst do not count.</p>
      <Unisons sheet={sheet} side={side} />
    </section>
  );
}
