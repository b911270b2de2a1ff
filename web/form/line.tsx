/** A line of a long sheet: what it is, what is entered beside it, and below it what is wrong with that. */
import type { ComponentChildren } from 'preact';
import { useId } from 'preact/hooks';
import { type Choosing, Select, type Tied } from './select.tsx';

interface LineProps {
  readonly label: string;
  readonly fault?: string | null;
}

/** The fault stands outside the label: the field keeps its name, and what is wrong describes it. */
function Line({
  label,
  fault,
  children,
}: LineProps & { readonly children: (tied: Tied) => ComponentChildren }) {
  const id = useId();
  return (
    <div class="line-of-sheet">
      <div class="line">
        <label for={id}>{label}</label>
        {children({
          id,
          'aria-describedby': fault ? `${id}-fault` : undefined,
          'aria-invalid': fault ? 'true' : undefined,
        })}
      </div>
      {fault && (
        <p class="fault" role="alert" id={`${id}-fault`}>
          {fault}
        </p>
      )}
    </div>
  );
}

interface TextLineProps extends LineProps {
  readonly value: string;
  readonly onValue: (value: string) => void;
  readonly name?: string;
  readonly unit?: string;
  /** Whole numbers bring up the plainest keys of a phone. */
  readonly keys?: 'words' | 'decimal' | 'numeric';
  readonly maxLength?: number;
}

export function TextLine(props: TextLineProps) {
  const { value, onValue, name, unit, keys = 'words', maxLength } = props;
  return (
    <Line {...props}>
      {(tied) => (
        <span class="entry">
          <input
            {...tied}
            type="text"
            name={name}
            class={keys === 'words' ? undefined : 'number'}
            inputMode={keys === 'words' ? undefined : keys}
            maxLength={maxLength}
            autocomplete="off"
            value={value}
            onInput={(event) => onValue(event.currentTarget.value)}
          />
          {unit && <span class="unit">{unit}</span>}
        </span>
      )}
    </Line>
  );
}

interface TimeLineProps extends LineProps {
  readonly name: string;
  readonly value: string;
  readonly onValue: (value: string) => void;
}

/** A day and a time, as <input type="datetime-local"> writes them. */
export function TimeLine(props: TimeLineProps) {
  return (
    <Line {...props}>
      {(tied) => (
        <input
          {...tied}
          type="datetime-local"
          name={props.name}
          value={props.value}
          onInput={(event) => props.onValue(event.currentTarget.value)}
        />
      )}
    </Line>
  );
}

interface AreaLineProps extends LineProps {
  readonly value: string;
  readonly onValue: (value: string) => void;
  readonly rows: number;
}

/** Nothing pasted or dictated is cut: what is too long is said, and stays. */
export function AreaLine(props: AreaLineProps) {
  return (
    <Line {...props}>
      {(tied) => (
        <textarea
          {...tied}
          rows={props.rows}
          value={props.value}
          onInput={(event) => props.onValue(event.currentTarget.value)}
        />
      )}
    </Line>
  );
}

export function SelectLine<T extends string>(props: LineProps & Choosing<T>) {
  const { value, choices, onValue } = props;
  return <Line {...props}>{(tied) => <Select {...{ tied, value, choices, onValue }} />}</Line>;
}
