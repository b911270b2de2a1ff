/** Air, board and predicted pitch on one time axis, to be read by eye, by finger, by keyboard and by ear. */
import { type Signal, useSignal } from '@preact/signals';
import { useMemo, useRef } from 'preact/hooks';
import {
  type BestDates,
  type Climate,
  type Forecast,
  type Pitch,
  type Register,
  registers,
} from '../../server/contract/index.ts';
import { Segments } from '../form/segments.tsx';
import { LeftOutWords } from '../marks/left-out.tsx';
import { Scroll } from '../marks/scroll.tsx';
import { useLive } from '../service/live.ts';
import { nowMs } from '../service/now.ts';
import { registerNames } from '../words/terms.ts';
import { shortDay } from '../words/times.ts';
import { type AirQuantity, ascending } from './columns.ts';
import { type Coming, comingOf } from './coming.ts';
import { ComingTable } from './coming-table.tsx';
import { Stack } from './stack.tsx';
import { comingWords, summary } from './summary.ts';
import { ChartTable } from './table.tsx';
import { endMs, leastMs, question, ranges, type Window } from './window.ts';

interface ChartProps {
  readonly instrumentId: string;
  readonly timeZone: string;
  /** The register shown, here and in what stands below. */
  readonly register: Signal<Register>;
  readonly forecast: Forecast | null;
  readonly best: BestDates | null;
}

/** As many points as can be told apart on the widest page this is drawn on. */
const points = 1100;

export function Chart({ instrumentId, timeZone, register, forecast, best }: ChartProps) {
  const window = useSignal<Window>({ kind: 'range', name: '1 y' });
  const quantity = useSignal<AirQuantity>('humidityPct');
  // A stretch that ends at the present goes on with it, slowly; one that was drawn out is the past.
  const everyMs = window.value.kind === 'range' ? 60_000 : 3_600_000;
  const given = { params: { id: instrumentId }, query: { ...question(window.value, nowMs.value), points } };
  const climate = useLive('climate', given, everyMs);
  const pitch = useLive('pitch', given, everyMs);
  /** The last pair that was answered in full: it stays while another stretch is being asked for. */
  const shown = useRef<{ climate: Climate; pitch: Pitch } | null>(null);
  if (climate.answer.value && pitch.answer.value && ascending(climate.answer.value.timesMs)) {
    shown.current = { climate: climate.answer.value, pitch: pitch.answer.value };
  }
  const last = shown.current;
  const coming = useMemo<Coming | null>(
    () => last && comingOf({ forecast, best, ...last, register: register.value, nowMs: nowMs.peek() }),
    [forecast, best, last?.climate, last?.pitch, register.value],
  );
  const error = climate.error.value ?? pitch.error.value;
  if (!shown.current) {
    return (
      <p class="chart-waiting" role="status">
        {error ? error.message : 'Reading the course of the year …'}
      </p>
    );
  }
  const zoom = (fromMs: number, toMs: number) => {
    const middle = (fromMs + toMs) / 2;
    const half = Math.max(leastMs, toMs - fromMs) / 2;
    const next = {
      kind: 'drawn',
      fromMs: Math.round(middle - half),
      toMs: Math.round(middle + half),
    } as const;
    const before = window.value;
    if (before.kind === 'drawn' && before.fromMs === next.fromMs && before.toMs === next.toMs) return;
    window.value = next;
  };
  const { fromMs, untilMs } = shown.current.climate;
  const bounds =
    window.value.kind === 'drawn'
      ? window.value
      : { fromMs, toMs: coming ? endMs(window.value.name, untilMs, coming.untilMs) : untilMs };
  return (
    <figure class="chart" aria-label="Air, board and predicted pitch">
      <div class="chart-choices">
        <Segments
          legend="Stretch of time"
          quiet
          name="range"
          value={window.value.kind === 'range' ? window.value.name : 'drawn'}
          choices={[
            ...ranges.filter((name) => coming || name !== 'coming').map((name) => [name, name] as const),
            ...(window.value.kind === 'drawn'
              ? [
                  [
                    'drawn',
                    `${shortDay(window.value.fromMs, timeZone)} – ${shortDay(window.value.toMs, timeZone)}`,
                  ] as const,
                ]
              : []),
          ]}
          onChoose={(name) => {
            if (name !== 'drawn') window.value = { kind: 'range', name };
          }}
        />
        <Segments
          legend="Of the air"
          quiet
          name="quantity"
          value={quantity.value}
          choices={[
            ['humidityPct', 'humidity'],
            ['temperatureC', 'temperature'],
          ]}
          onChoose={(next) => {
            quantity.value = next;
          }}
        />
        <Segments
          legend="Register"
          quiet
          name="register"
          value={register.value}
          choices={registers.map((name) => [name, registerNames[name]])}
          onChoose={(name) => {
            register.value = name;
          }}
        />
      </div>
      <Stack
        climate={shown.current.climate}
        pitch={shown.current.pitch}
        coming={coming}
        register={register.value}
        quantity={quantity.value}
        timeZone={timeZone}
        fromMs={bounds.fromMs}
        toMs={bounds.toMs}
        onDrawn={zoom}
        onOut={() => {
          window.value = { kind: 'range', name: '1 y' };
        }}
      />
      {error && <p class="stale">{error.message}</p>}
      <figcaption>
        {summary(shown.current.climate, shown.current.pitch, register.value, timeZone)}
        <LeftOutWords leftOut={shown.current.climate.leftOut} timeZone={timeZone} />
        {coming && (
          <span class="coming-words">
            {comingWords(coming, register.value, timeZone)} On the lighter sheet: what is foretold.{' '}
            {forecast?.basis}
          </span>
        )}
      </figcaption>
      <details class="more">
        <summary>The same as a table</summary>
        <Scroll label="The chart as a table">
          <ChartTable
            climate={shown.current.climate}
            pitch={shown.current.pitch}
            register={register.value}
            timeZone={timeZone}
          />
          {coming && <ComingTable coming={coming} register={register.value} timeZone={timeZone} />}
        </Scroll>
      </details>
    </figure>
  );
}
