import { type Signal, useSignal } from '@preact/signals';
import type { InstrumentSummary } from '../../server/contract/index.ts';
import { Segments } from '../form/segments.tsx';
import type { Asked } from './choosing.ts';

interface FiltersProps {
  readonly all: readonly InstrumentSummary[];
  readonly asked: Signal<Asked>;
}

export function Filters({ all, asked }: FiltersProps) {
  /** On a phone the choices stay folded away, so that the first instrument is in sight; wide pages show them always. */
  const unfolded = useSignal(false);
  const venues = new Map(all.map(({ venueId, venueName }) => [venueId, venueName]));
  const set = (change: Partial<Asked>) => {
    asked.value = { ...asked.value, ...change };
  };
  return (
    <search class={unfolded.value ? 'filters unfolded' : 'filters'}>
      <label class="find">
        <span>Find</span>
        <input
          type="search"
          placeholder="name, room, serial number"
          value={asked.value.search}
          onInput={(event) => set({ search: event.currentTarget.value })}
        />
      </label>
      <button
        type="button"
        class="button quiet unfold"
        aria-expanded={unfolded.value}
        onClick={() => {
          unfolded.value = !unfolded.value;
        }}
      >
        Filter
      </button>
      {venues.size > 1 && (
        <label class="foldable">
          <span>Venue</span>
          <select
            value={asked.value.venueId}
            onChange={(event) => set({ venueId: event.currentTarget.value })}
          >
            <option value="">all {venues.size} venues</option>
            {[...venues]
              .sort(([, a], [, b]) => a.localeCompare(b))
              .map(([id, name]) => (
                <option key={id} value={id}>
                  {name}
                </option>
              ))}
          </select>
        </label>
      )}
      <div class="foldable">
        <Segments
          legend="Show"
          name="urgency"
          value={String(asked.value.urgency)}
          choices={[
            ['0', 'all'],
            ['2', 'asking for hands'],
            ['3', 'at once'],
          ]}
          onChoose={(urgency) => set({ urgency: Number(urgency) })}
        />
      </div>
      <div class="foldable">
        <Segments
          legend="Order"
          name="order"
          value={asked.value.order}
          choices={[
            ['urgency', 'by urgency'],
            ['place', 'by place'],
          ]}
          onChoose={(order) => set({ order })}
        />
      </div>
    </search>
  );
}
