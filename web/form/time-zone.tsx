/** A time zone by its IANA name, with all the names this browser knows to choose from. */
import { useId } from 'preact/hooks';
import { TextField } from './field.tsx';

interface TimeZoneProps {
  readonly value: string;
  readonly hint: string;
  readonly fault: string | null;
  readonly onValue: (value: string) => void;
}

export function TimeZoneField({ value, hint, fault, onValue }: TimeZoneProps) {
  const id = useId();
  return (
    <>
      <TextField
        name="timeZone"
        label="Time zone"
        required
        list={id}
        hint={hint}
        value={value}
        fault={fault}
        onValue={onValue}
      />
      <datalist id={id}>
        {Intl.supportedValuesOf('timeZone').map((zone) => (
          <option key={zone} value={zone} />
        ))}
      </datalist>
    </>
  );
}
