/** How a message is to be read: its kind, and the place of each value. Places of the message at hand are offered. */
import { SelectField, TextField } from '../../form/field.tsx';
import { partsOf } from '../../form/parts.ts';
import { Segments } from '../../form/segments.tsx';
import { type Draft, type Quantity, unitsOf, type ValueDraft } from './draft.ts';
import { foundAt, leavesOf, listsOf } from './leaves.ts';

interface ProfileFormProps {
  readonly draft: Draft;
  /** The message at hand, parsed; undefined where it is no JSON. */
  readonly document: unknown;
  readonly onChange: (draft: Draft) => void;
}

const quantityWords: readonly (readonly [Quantity, string])[] = [
  ['humidityPct', 'humidity'],
  ['temperatureC', 'temperature'],
  ['batteryPct', 'battery'],
];

function Places({ id, places }: { readonly id: string; readonly places: readonly string[] }) {
  return (
    <datalist id={id}>
      {places.map((place) => (
        <option key={place} value={place} />
      ))}
    </datalist>
  );
}

interface ValueRowProps {
  readonly value: ValueDraft;
  readonly number: number;
  readonly label: string;
  /** Whether a word in the message may decide that this is the value. */
  readonly byWord: boolean;
  readonly onChange: (value: ValueDraft) => void;
  readonly onRemove: () => void;
}

function ValueRow({ value, number, label, byWord, onChange, onRemove }: ValueRowProps) {
  const { where } = value;
  const part = partsOf(value, onChange);
  return (
    <fieldset class="bench-value">
      <legend class="unseen">Value {number}</legend>
      <TextField {...part('at')} name={`at-${number}`} label={label} list="bench-places" />
      <SelectField
        name={`quantity-${number}`}
        label="is"
        value={value.quantity}
        choices={quantityWords}
        onValue={(quantity) => onChange({ ...value, quantity, unit: '' })}
      />
      <SelectField {...part('unit')} name={`unit-${number}`} label="in" choices={unitsOf[value.quantity]} />
      <TextField {...part('scale')} name={`scale-${number}`} label="times" numeric placeholder="1" />
      {where !== null && (
        <>
          <TextField
            name={`where-${number}`}
            label="Only where at"
            list="bench-places"
            value={where.at}
            onValue={(at) => onChange({ ...value, where: { ...where, at } })}
          />
          <TextField
            name={`is-${number}`}
            label="stands"
            value={where.is}
            onValue={(is) => onChange({ ...value, where: { ...where, is } })}
          />
        </>
      )}
      <p class="bench-acts">
        {byWord && (
          <button
            type="button"
            class="link"
            onClick={() => onChange({ ...value, where: where === null ? { at: '', is: '' } : null })}
          >
            {where === null ? 'Only beside a certain word' : 'Whatever stands beside it'}
            <span class="unseen">, value {number}</span>
          </button>
        )}
        <button type="button" class="link" onClick={onRemove}>
          Leave out<span class="unseen"> value {number}</span>
        </button>
      </p>
    </fieldset>
  );
}

export function ProfileForm({ draft, document, onChange }: ProfileFormProps) {
  const set = (change: Partial<Draft>) => onChange({ ...draft, ...change });
  const part = partsOf(draft, onChange);
  const { kind, values } = draft;
  const list = draft.batch ? foundAt(document, draft.each) : undefined;
  const entry = draft.batch ? (Array.isArray(list) ? list[0] : undefined) : document;
  const inEntry = leavesOf(entry).map(({ at }) => at);
  const around =
    draft.batch && draft.each !== '' ? leavesOf(document, draft.each).map(({ at }) => `^${at}`) : [];
  const setValue = (at: number, value: ValueDraft) =>
    set({ values: values.map((one, i) => (i === at ? value : one)) });
  return (
    <>
      <Segments
        legend="A message is"
        name="kind"
        value={kind}
        choices={[
          ['senml', 'SenML'],
          ['mapped', 'JSON or lines, by places'],
          ['plain-value', 'one plain number'],
        ]}
        onChoose={(next) => set({ kind: next })}
      />
      {kind === 'senml' && (
        <p class="quiet">Nothing more needs saying: SenML names its sensors, units and times itself.</p>
      )}
      {kind === 'mapped' && (
        <>
          <Places id="bench-places" places={inEntry} />
          <Places id="bench-around" places={[...inEntry, ...around]} />
          <Places id="bench-lists" places={listsOf(document)} />
          <Segments
            legend="It holds"
            name="batch"
            value={draft.batch ? 'many' : 'one'}
            choices={[
              ['one', 'one reading'],
              ['many', 'a list of readings'],
            ]}
            onChoose={(next) =>
              set(
                next === 'many'
                  ? { batch: true, each: listsOf(document)[0] ?? draft.each }
                  : { batch: false },
              )
            }
          />
          <div class="fields">
            {draft.batch && (
              <TextField
                {...part('each')}
                label="The list stands at"
                hint="Empty: the whole message is the list. Places below are then within one entry; ^ before a place means in the whole message."
                list="bench-lists"
              />
            )}
            <TextField
              {...part('sensor')}
              label="The sensor’s name stands at"
              hint="Empty: the topic names it, or the gateway."
              list="bench-around"
            />
            <TextField
              {...part('prefix')}
              label="Put before that name"
              hint="Such as urn:dev:eui: – only where names would clash."
            />
            <TextField
              {...part('timeAt')}
              label="The time stands at"
              hint="Empty: when it was received."
              list="bench-around"
            />
            <SelectField
              {...part('timeAs')}
              label="written as"
              choices={[
                ['iso', 'date and time with offset (RFC 3339)'],
                ['s', 'seconds since 1970'],
                ['ms', 'milliseconds since 1970'],
              ]}
            />
          </div>
        </>
      )}
      {kind === 'plain-value' && (
        <div class="fields">
          <TextField
            {...part('topic')}
            label="Topics look like"
            hint="{sensor} stands for its name, {quantity} for what is measured, + for anything."
          />
          <TextField {...part('prefix')} label="Put before the sensor’s name" />
        </div>
      )}
      {kind !== 'senml' && (
        <>
          {values.map((value, i) => (
            <ValueRow
              key={i}
              number={i + 1}
              label={kind === 'mapped' ? 'At' : '{quantity} written'}
              byWord={kind === 'mapped'}
              value={value}
              onChange={(next) => setValue(i, next)}
              onRemove={() => set({ values: values.filter((_, at) => at !== i) })}
            />
          ))}
          <p>
            <button
              type="button"
              class="button quiet"
              onClick={() =>
                set({
                  values: [...values, { at: '', quantity: 'humidityPct', unit: '', scale: '', where: null }],
                })
              }
            >
              Another value
            </button>
          </p>
        </>
      )}
    </>
  );
}
