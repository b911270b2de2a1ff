/** Pitch as found, before work, or as left, after it, with the spread of unisons. */

import { Segments } from '../form/segments.tsx';
import { PitchFields } from '../visit/pitch-fields.tsx';
import { faultAt, type Sheet } from './sheet-context.ts';

export function PitchSection({ sheet, side }: { readonly sheet: Sheet; readonly side: 'found' | 'left' }) {
  const { draft, change, brief } = sheet;
  const words = side === 'found' ? 'As found' : 'As left';
  const unisons = side === 'found' ? 'unisonsFound' : 'unisonsLeft';
  const fault = faultAt(sheet, unisons);
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
      <label class="line">
        <span>Spread of unisons, {words.toLowerCase()}</span>
        <input
          type="text"
          inputMode="decimal"
          class="number"
          value={draft[unisons]}
          aria-invalid={fault ? 'true' : undefined}
          onInput={(event) => {
            const text = event.currentTarget.value;
            change('unisons', (now) => ({ ...now, [unisons]: text }), unisons);
          }}
        />
        <span class="unit">cents</span>
        {fault && (
          <span class="fault" role="alert">
            {fault}
          </span>
        )}
      </label>
    </section>
  );
}
