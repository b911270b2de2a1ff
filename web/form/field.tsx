/** A field with its label, its unit, a hint, and what was wrong with it, tied together for every reader. */
import type { ComponentChildren } from 'preact';
import { useId } from 'preact/hooks';
import { type Choosing, Select, type Tied } from './select.tsx';

interface Frame {
  readonly label: string;
  readonly hint?: string | undefined;
  readonly fault?: string | null;
  readonly unit?: string;
  /** How wide the entry is: a number, or words. */
  readonly wide?: boolean;
}

function Framed({
  label,
  hint,
  fault,
  unit,
  wide = false,
  children,
}: Frame & { readonly children: (tied: Tied) => ComponentChildren }) {
  const id = useId();
  const notes = [hint ? `${id}-hint` : '', fault ? `${id}-fault` : ''].filter(Boolean).join(' ');
  return (
    <div class={wide ? 'field wide' : 'field'}>
      <label for={id}>{label}</label>
      <span class="entry">
        {children({
          id,
          'aria-describedby': notes === '' ? undefined : notes,
          'aria-invalid': fault ? 'true' : undefined,
        })}
        {unit && <span class="unit">{unit}</span>}
      </span>
      {fault && (
        <p class="fault" id={`${id}-fault`}>
          {fault}
        </p>
      )}
      {hint && (
        <p class="hint" id={`${id}-hint`}>
          {hint}
        </p>
      )}
    </div>
  );
}

interface TextProps extends Frame {
  readonly name: string;
  readonly value: string;
  readonly onValue: (value: string) => void;
  readonly type?: 'text' | 'datetime-local' | 'email' | 'url';
  readonly numeric?: boolean;
  readonly required?: boolean;
  readonly maxLength?: number;
  readonly list?: string;
  readonly placeholder?: string;
}

export function TextField(props: TextProps) {
  const {
    name,
    value,
    onValue,
    type = 'text',
    numeric = false,
    required,
    maxLength,
    list,
    placeholder,
  } = props;
  return (
    <Framed {...props} wide={props.wide ?? (!numeric && type !== 'datetime-local')}>
      {(tied) => (
        <input
          {...tied}
          type={type}
          name={name}
          value={value}
          required={required}
          maxLength={maxLength}
          list={list}
          placeholder={placeholder}
          class={numeric ? 'number' : undefined}
          inputMode={numeric ? 'decimal' : undefined}
          autocomplete="off"
          onInput={(event) => onValue(event.currentTarget.value)}
        />
      )}
    </Framed>
  );
}

interface SelectProps<T extends string> extends Frame, Choosing<T> {
  readonly name: string;
}

export function SelectField<T extends string>(props: SelectProps<T>) {
  const { name, value, choices, onValue } = props;
  return (
    <Framed {...props} wide>
      {(tied) => <Select {...{ tied, name, value, choices, onValue }} />}
    </Framed>
  );
}

interface AreaProps extends Frame {
  readonly name: string;
  readonly value: string;
  readonly maxLength: number;
  readonly rows?: number;
  readonly onValue: (value: string) => void;
}

export function AreaField(props: AreaProps) {
  return (
    <Framed {...props} wide>
      {(tied) => (
        <textarea
          {...tied}
          name={props.name}
          rows={props.rows ?? 4}
          maxLength={props.maxLength}
          value={props.value}
          onInput={(event) => props.onValue(event.currentTarget.value)}
        />
      )}
    </Framed>
  );
}

interface CheckProps {
  readonly name: string;
  readonly label: string;
  readonly hint?: string;
  readonly checked: boolean;
  readonly onValue: (checked: boolean) => void;
}

export function CheckField({ name, label, hint, checked, onValue }: CheckProps) {
  const id = useId();
  return (
    <div class="field check wide">
      <label>
        <input
          type="checkbox"
          name={name}
          checked={checked}
          aria-describedby={hint ? `${id}-hint` : undefined}
          onChange={(event) => onValue(event.currentTarget.checked)}
        />
        <span>{label}</span>
      </label>
      {hint && (
        <p class="hint" id={`${id}-hint`}>
          {hint}
        </p>
      )}
    </div>
  );
}
