/** Humidity control fitted in an instrument: what it can do, where it is set, since when. The watch then sees that it holds. */
import { useSignal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import type { HumidityControl } from '../../server/contract/index.ts';
import { useEntered } from '../form/entered.ts';
import { Entries } from '../form/entries.ts';
import { TextField } from '../form/field.tsx';
import { newId } from '../form/new-id.ts';
import { Segments } from '../form/segments.tsx';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { Cautions } from '../marks/cautions.tsx';
import { call } from '../service/call.ts';
import { refresh, useLive } from '../service/live.ts';
import { nowMs } from '../service/now.ts';
import { percent, plain } from '../words/numbers.ts';
import { longDay } from '../words/times.ts';
import { fromInput, toInput } from '../words/zoned.ts';

interface ControlsProps {
  readonly instrumentId: string;
  readonly timeZone: string;
}

/** Common practice; local codes come first. */
const caution =
  'Mains near water: leave fitting and wiring to people licensed for it. Unplug it before it is filled, plug it in again and check that it runs.';

const kinds: readonly (readonly [HumidityControl['kind'], string])[] = [
  ['humidify', 'adds moisture'],
  ['dehumidify', 'takes it away'],
  ['both', 'does both'],
];

function said(control: HumidityControl, timeZone: string): string {
  const kind = kinds.find(([one]) => one === control.kind)?.[1] ?? control.kind;
  const until = control.untilMs === null ? '' : `, until ${longDay(control.untilMs, timeZone, nowMs.value)}`;
  return `${kind}, set to ${percent(control.setPct)}, since ${longDay(control.sinceMs, timeZone, nowMs.value)}${until}`;
}

export function HumidityControls({ instrumentId, timeZone }: ControlsProps) {
  const { answer, error } = useLive('humidityControls', { params: { id: instrumentId } }, 300_000);
  /** The one that is being corrected, '' for a new one, null while none is. */
  const open = useSignal<string | null>(null);
  const opener = useRef<HTMLButtonElement | null>(null);
  const controls = answer.value;
  const edited = controls?.find(({ id }) => id === open.value) ?? null;
  const begin = (id: string) => (event: { readonly currentTarget: HTMLButtonElement }) => {
    opener.current = event.currentTarget;
    open.value = open.value === id ? null : id;
  };
  return (
    <section class="setting" aria-labelledby="controls">
      <h2 id="controls">Humidity control fitted in it</h2>
      {error.value && <p class="stale">{error.value.message}</p>}
      {controls?.length === 0 && <p class="quiet">None is on record.</p>}
      <ul>
        {controls?.map((control) => (
          <li key={control.id}>
            It {said(control, timeZone)}.{' '}
            <button
              type="button"
              class="link"
              aria-expanded={open.value === control.id}
              onClick={begin(control.id)}
            >
              Correct<span class="unseen">: {said(control, timeZone)}</span>
            </button>
          </li>
        ))}
      </ul>
      <p>
        <button type="button" class="button quiet" aria-expanded={open.value === ''} onClick={begin('')}>
          {controls?.length === 0 ? 'One is fitted' : 'Another was fitted'}
        </button>
      </p>
      {open.value !== null && (
        <OneControl
          key={open.value}
          control={edited}
          instrumentId={instrumentId}
          timeZone={timeZone}
          onDone={() => {
            open.value = null;
            opener.current?.focus();
          }}
        />
      )}
    </section>
  );
}

interface OneProps extends ControlsProps {
  readonly control: HumidityControl | null;
  readonly onDone: () => void;
}

function OneControl({ control, instrumentId, timeZone, onDone }: OneProps) {
  const sending = useSending();
  const id = useSignal(control?.id ?? newId());
  const { text, field, choice } = useEntered(
    {
      kind: control?.kind ?? ('both' as HumidityControl['kind']),
      // Common practice, no source: such devices are set to the middle of what is wished.
      setPct: plain(control?.setPct ?? 45),
      sinceMs: toInput(control?.sinceMs ?? Date.now(), timeZone),
      untilMs: control?.untilMs ? toInput(control.untilMs, timeZone) : '',
    },
    sending,
  );
  const save = async () => {
    const entries = new Entries();
    const setPct = entries.needed('setPct', text.setPct);
    const sinceMs = fromInput(text.sinceMs, timeZone);
    if (sinceMs === null) entries.fault('sinceMs', 'A day and a time are needed here.');
    const untilMs = fromInput(text.untilMs, timeZone);
    if (untilMs !== null && untilMs <= (sinceMs ?? 0))
      entries.fault('untilMs', 'Must be later than it was fitted.');
    entries.check();
    const body = { instrumentId, kind: text.kind, setPct, sinceMs: sinceMs ?? 0, untilMs };
    await call('putHumidityControl', { params: { id: id.value }, body });
    onDone();
    await refresh();
  };
  return (
    <SendForm sending={sending} onSend={save}>
      <Segments {...choice('kind')} legend="It" choices={kinds} />
      <div class="fields">
        <TextField {...field('setPct')} label="Set to" unit="%" numeric />
        <TextField {...field('sinceMs')} type="datetime-local" label="Since" />
        <TextField
          {...field('untilMs')}
          type="datetime-local"
          label="Until"
          hint="Empty while it is fitted."
        />
      </div>
      <Cautions sentences={[caution]} />
      <p role="alert" class="trouble">
        {sending.trouble}
      </p>
      <div class="submit-row">
        <button type="submit" class="button" disabled={sending.busy}>
          {sending.busy ? 'Saving …' : 'Save it'}
        </button>
        <button type="button" class="button quiet" onClick={onDone}>
          Leave it
        </button>
      </div>
    </SendForm>
  );
}
