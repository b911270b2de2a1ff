/** Pins, sampled in every section: by torque where there is a wrench, else by lowering a string and raising it again. */
import type { Item } from '../../server/contract/index.ts';
import { normalWords, pinClass, pinFeels, pinSections } from '../../server/contract/index.ts';
import { Cautions } from '../marks/cautions.tsx';
import { conditionWords } from '../words/terms.ts';
import type { PinEntry, SheetDraft } from './draft.ts';
import { torqueOf } from './measured.ts';
import { faultAt, type Sheet } from './sheet-context.ts';

const setPin = (draft: SheetDraft, at: number, change: Partial<PinEntry>): SheetDraft => ({
  ...draft,
  pins: draft.pins.map((pin, i) => (i === at ? { ...pin, ...change } : pin)),
});

export function Pins({ sheet, item }: { readonly sheet: Sheet; readonly item: Item }) {
  const { draft, change } = sheet;
  // Its finding, just above, says the caution already.
  const found = (draft.answers[item.id]?.conditionClass ?? 0) > 0;
  const unit = draft.pins.at(-1)?.unit ?? item.measure?.unit ?? 'N·m';
  const units = [item.measure?.unit ?? 'N·m', ...Object.keys(item.measure?.alsoIn ?? {})];
  return (
    <div class="pins">
      <p class="quiet">Normal {normalWords(item, draft.kind)}. Three in each section tell most.</p>
      {draft.pins.length > 0 && !found && <Cautions sentences={item.caution ? [item.caution] : []} />}
      {draft.pins.map((pin, i) => {
        const fault = faultAt(sheet, `pins.${i}`);
        const grade = fault ? null : pinClass({ torqueNm: torqueOf(pin), feel: pin.feel, holds: pin.holds });
        const name = `${pin.section} pin ${i + 1}`;
        return (
          <div class="pin" key={i}>
            <b>{pin.section}</b>
            <label class="line">
              <span class="unseen">Torque of {name}</span>
              <input
                type="text"
                inputMode="decimal"
                class="number"
                name={`pins.${i}`}
                value={pin.torque}
                aria-invalid={fault ? 'true' : undefined}
                onInput={(event) => {
                  const torque = event.currentTarget.value;
                  change('torque', (now) => setPin(now, i, { torque }), `pins.${i}`);
                }}
              />
            </label>
            <label>
              <span class="unseen">Unit of {name}</span>
              <select
                value={pin.unit}
                onChange={(event) => {
                  const chosen = event.currentTarget.value;
                  change('unit', (now) => setPin(now, i, { unit: chosen }));
                }}
              >
                {units.map((one) => (
                  <option key={one}>{one}</option>
                ))}
              </select>
            </label>
            <label>
              <span class="unseen">How {name} feels</span>
              <select
                value={pin.feel ?? ''}
                onChange={(event) => {
                  const feel = pinFeels.find((one) => one === event.currentTarget.value) ?? null;
                  change('how it feels', (now) => setPin(now, i, { feel }));
                }}
              >
                <option value="">not felt</option>
                {pinFeels.map((one) => (
                  <option key={one}>{one}</option>
                ))}
              </select>
            </label>
            <label>
              <span class="unseen">Does {name} hold</span>
              <select
                value={pin.holds === null ? '' : pin.holds ? 'holds' : 'slips'}
                onChange={(event) => {
                  const { value } = event.currentTarget;
                  const holds = value === '' ? null : value === 'holds';
                  change('does it hold', (now) => setPin(now, i, { holds }));
                }}
              >
                <option value="">not tried</option>
                <option value="holds">holds</option>
                <option value="slips">does not hold</option>
              </select>
            </label>
            <span class={fault ? 'fault' : 'quiet'} role={fault ? 'alert' : undefined}>
              {fault ?? (grade === null ? '' : conditionWords[grade])}
            </span>
          </div>
        );
      })}
      <fieldset class="chips">
        <legend class="unseen">Try a pin</legend>
        {pinSections.map((section) => (
          <button
            key={section}
            type="button"
            onClick={() =>
              change(`a pin of the ${section}`, (now) => ({
                ...now,
                pins: [...now.pins, { section, torque: '', unit, feel: null, holds: null }],
              }))
            }
          >
            + {section}
          </button>
        ))}
      </fieldset>
    </div>
  );
}
