import type { Signal } from '@preact/signals';
import type { InstrumentSummary } from '../../server/contract/index.ts';
import { Segments } from '../form/segments.tsx';
import type { Asked } from './choosing.ts';

interface FiltersProps {
  readonly all: readonly InstrumentSummary[];
  readonly asked: Signal<Asked>;
}

export function Filters({ all, asked }: FiltersProps) {
  const venues = new Map(all.map(({ venueId, venueName }) => [venueId, venueName]));
  const set = (change: Partial<Asked>) => {
    asked.value = { ...asked.value, ...change };
  };
  return (
    <search class="filters">
      <label class="search">
        <span>Find</span>
        <input
          type="search"
          placeholder="name, room, serial number"
          value={asked.value.search}
          onInput={(event) => set({ search: event.currentTarget.value })}
        />
      </label>
      {venues.size > 1 && (
        <label>
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
      <Segments
        legend="Show"
        name="urgency"
        value={String(asked.value.urgency)}
        choices={[
          ['0', 'all'],
          ['1', 'to be planned'],
          ['2', 'soon'],
          ['3', 'at once'],
        ]}
        onChoose={(urgency) => set({ urgency: Number(urgency) })}
      />
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
    </search>
  );
}
