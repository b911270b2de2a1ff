/** How the file is written: guessed, and every guess can be changed. */
import type { LoggerPreview, LoggerShape } from '../../../server/contract/index.ts';
import { CheckField, SelectField, TextField } from '../../form/field.tsx';
import { partsOf } from '../../form/parts.ts';

interface ShapeFormProps {
  readonly preview: LoggerPreview;
  /** The beginning of the file. */
  readonly head: string;
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

const linesOffered = 40;
const line = (text: string): string => (text.length > 50 ? `${text.slice(0, 50)}…` : text);

export function ShapeForm({ preview, head, zones, fault, onChange }: ShapeFormProps) {
  const { shape, titles } = preview;
  const set = (change: Partial<LoggerShape>) => onChange({ ...shape, ...change });
  const columns = titles.map((title, i) => [String(i), title === '' ? `column ${i + 1}` : title] as const);
  const part = partsOf(shape, onChange);
  const lines = head.split(/\r\n|\n|\r/).slice(0, Math.max(linesOffered, shape.titleLine));
  /** A column that may be none of the file's. */
  const column = (name: 'clock' | 'humidity' | 'temperature') => ({
    name,
    value: shape[name] === null ? '' : String(shape[name]),
    choices: [['', 'none'] as const, ...columns],
    onValue: (at: string) => set({ [name]: at === '' ? null : Number(at) }),
  });
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
        <SelectField {...column('clock')} label="The time of day apart, in" />
        <SelectField {...column('humidity')} label="Humidity stands in" />
        <SelectField {...column('temperature')} label="Temperature stands in" />
      </div>
      <div class="fields">
        <SelectField {...part('delimiter')} label="Columns are cut by" choices={delimiterWords} />
        <SelectField
          name="titleLine"
          label="Their titles stand in"
          value={String(shape.titleLine)}
          choices={[
            ['0', 'no line'],
            ...lines.flatMap((text, i) =>
              text.trim() === '' ? [] : [[String(i + 1), `line ${i + 1}: ${line(text)}`] as const],
            ),
          ]}
          onValue={(at) => set({ titleLine: Number(at) })}
        />
        <SelectField
          {...part('dateOrder')}
          label="Dates are written"
          choices={orderWords}
          hint={
            preview.sureOfDates ? undefined : 'Day and month could be either way round here: please look.'
          }
        />
        <TextField
          {...part('timeZone')}
          label="Its clock stands in"
          list="logger-zones"
          hint="A clock that does not follow summer time stands at a fixed offset, such as UTC+1."
          fault={fault}
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
