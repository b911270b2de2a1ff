/** How the file is written: guessed, and every guess can be changed. */
import type { LoggerPreview, LoggerShape } from '../../../server/contract/index.ts';
import { CheckField, SelectField, TextField } from '../../form/field.tsx';

interface ShapeFormProps {
  readonly preview: LoggerPreview;
  readonly zones: readonly string[];
  readonly fault: string | null;
  readonly onChange: (shape: LoggerShape) => void;
}

const delimiterWords: readonly (readonly [LoggerShape['delimiter'], string])[] = [
  [';', 'semicolon ;'],
  [',', 'comma ,'],
  ['\t', 'tabulator'],
  ['|', 'bar |'],
];
const orderWords: readonly (readonly [LoggerShape['dateOrder'], string])[] = [
  ['ymd', 'year first'],
  ['dmy', 'day, month, year'],
  ['mdy', 'month, day, year'],
];

export function ShapeForm({ preview, zones, fault, onChange }: ShapeFormProps) {
  const { shape, titles } = preview;
  const set = (change: Partial<LoggerShape>) => onChange({ ...shape, ...change });
  const columns = titles.map((title, i) => [String(i), title === '' ? `column ${i + 1}` : title] as const);
  const orNone = [['', 'none'] as const, ...columns];
  const asColumn = (text: string): number | null => (text === '' ? null : Number(text));
  const asText = (at: number | null): string => (at === null ? '' : String(at));
  return (
    <>
      <div class="fields">
        <SelectField
          name="time"
          label={shape.clock === null ? 'Date and time stand in' : 'The date stands in'}
          value={String(shape.time)}
          choices={columns}
          onValue={(at) => set({ time: Number(at) })}
        />
        <SelectField
          name="clock"
          label="The time of day apart, in"
          value={asText(shape.clock)}
          choices={orNone}
          onValue={(at) => set({ clock: asColumn(at) })}
        />
        <SelectField
          name="humidity"
          label="Humidity stands in"
          value={asText(shape.humidity)}
          choices={orNone}
          onValue={(at) => set({ humidity: asColumn(at) })}
        />
        <SelectField
          name="temperature"
          label="Temperature stands in"
          value={asText(shape.temperature)}
          choices={orNone}
          onValue={(at) => set({ temperature: asColumn(at) })}
        />
      </div>
      <div class="fields">
        <SelectField
          name="delimiter"
          label="Columns are cut by"
          value={shape.delimiter}
          choices={delimiterWords}
          onValue={(delimiter) => set({ delimiter })}
        />
        <SelectField
          name="dateOrder"
          label="Dates are written"
          value={shape.dateOrder}
          choices={orderWords}
          hint={
            preview.sureOfDates ? undefined : 'Day and month could be either way round here: please look.'
          }
          onValue={(dateOrder) => set({ dateOrder })}
        />
        <TextField
          name="timeZone"
          label="Its clock stands in"
          value={shape.timeZone}
          list="logger-zones"
          hint="A clock that does not follow summer time stands at a fixed offset, such as UTC+1."
          fault={fault}
          onValue={(timeZone) => set({ timeZone })}
        />
        <datalist id="logger-zones">
          {zones.map((zone) => (
            <option key={zone} value={zone} />
          ))}
        </datalist>
      </div>
      <CheckField
        name="decimalComma"
        label="Decimals are cut off by a comma: 45,2"
        checked={shape.decimalComma}
        onValue={(decimalComma) => set({ decimalComma })}
      />
      <CheckField
        name="fahrenheit"
        label="Temperatures are in °F"
        checked={shape.fahrenheit}
        onValue={(fahrenheit) => set({ fahrenheit })}
      />
    </>
  );
}
