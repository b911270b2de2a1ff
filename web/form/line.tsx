/** A line of a long sheet: what it is, what is entered beside it, and what is wrong with that after it. */
interface Framed {
  readonly label: string;
  readonly fault?: string | null;
}

function Fault({ fault }: { readonly fault: string | null | undefined }) {
  return fault ? (
    <span class="fault" role="alert">
      {fault}
    </span>
  ) : null;
}

interface TextLineProps extends Framed {
  readonly value: string;
  readonly onValue: (value: string) => void;
  readonly name?: string;
  readonly unit?: string;
  /** Whole numbers bring up the plainest keys of a phone. */
  readonly keys?: 'words' | 'decimal' | 'numeric';
  readonly maxLength?: number;
}

export function TextLine(props: TextLineProps) {
  const { label, value, onValue, fault, name, unit, keys = 'words', maxLength } = props;
  return (
    <label class="line">
      <span>{label}</span>
      <input
        type="text"
        name={name}
        class={keys === 'words' ? undefined : 'number'}
        inputMode={keys === 'words' ? undefined : keys}
        maxLength={maxLength}
        autocomplete="off"
        value={value}
        aria-invalid={fault ? 'true' : undefined}
        onInput={(event) => onValue(event.currentTarget.value)}
      />
      {unit && <span class="unit">{unit}</span>}
      <Fault fault={fault} />
    </label>
  );
}

interface TimeLineProps extends Framed {
  readonly name: string;
  readonly value: string;
  readonly onValue: (value: string) => void;
}

/** A day and a time, as <input type="datetime-local"> writes them. */
export function TimeLine({ label, name, value, onValue, fault }: TimeLineProps) {
  return (
    <label class="line">
      <span>{label}</span>
      <input
        type="datetime-local"
        name={name}
        value={value}
        aria-invalid={fault ? 'true' : undefined}
        onInput={(event) => onValue(event.currentTarget.value)}
      />
      <Fault fault={fault} />
    </label>
  );
}

interface AreaLineProps extends Framed {
  readonly value: string;
  readonly onValue: (value: string) => void;
  readonly rows: number;
  readonly maxLength: number;
}

export function AreaLine({ label, value, onValue, rows, maxLength }: AreaLineProps) {
  return (
    <label class="line">
      <span>{label}</span>
      <textarea
        rows={rows}
        maxLength={maxLength}
        value={value}
        onInput={(event) => onValue(event.currentTarget.value)}
      />
    </label>
  );
}

interface SelectLineProps<T extends string> extends Framed {
  readonly value: T;
  readonly choices: readonly (readonly [value: T, words: string])[];
  readonly onValue: (value: T) => void;
}

export function SelectLine<T extends string>({ label, value, choices, onValue }: SelectLineProps<T>) {
  return (
    <label class="line">
      <span>{label}</span>
      <select
        value={value}
        onChange={(event) => {
          const picked = choices.find(([choice]) => choice === event.currentTarget.value);
          if (picked) onValue(picked[0]);
        }}
      >
        {choices.map(([choice, words]) => (
          <option key={choice} value={choice}>
            {words}
          </option>
        ))}
      </select>
    </label>
  );
}
