/** Air, board and predicted pitch on one time axis, to be read by eye, by finger, by keyboard and by ear. */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import 'uplot/dist/uPlot.min.css';
import { type Climate, type Pitch, type Register, registers } from '../../server/contract/index.ts';
import { Segments } from '../form/segments.tsx';
import { useLive } from '../service/live.ts';
import { nowMs } from '../service/now.ts';
import { temperatureUnit } from '../words/temperature.ts';
import { registerNames } from '../words/terms.ts';
import { moment, shortDay } from '../words/times.ts';
import './chart.css';
import { type AirQuantity, airColumns, ascending, boardColumns, pitchColumns } from './columns.ts';
import type { Drawing } from './drawing.ts';
import { createPlots, type Plots } from './plots.ts';
import { type Readout, readout, spoken } from './readout.ts';
import { summary } from './summary.ts';
import { ChartTable } from './table.tsx';
import { leastMs, question, ranges, type Window } from './window.ts';

interface ChartProps {
  readonly instrumentId: string;
  readonly timeZone: string;
  /** The register that is farthest out: the one to open with. */
  readonly register: Register;
}

/** As many points as can be told apart on the widest page this is drawn on. */
const points = 1100;

export function Chart({ instrumentId, timeZone, register: opening }: ChartProps) {
  const window = useSignal<Window>({ kind: 'range', name: '1 y' });
  const register = useSignal<Register>(opening);
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
    const last = window.value;
    if (last.kind === 'drawn' && last.fromMs === next.fromMs && last.toMs === next.toMs) return;
    window.value = next;
  };
  return (
    <figure class="chart" aria-label="Air, board and predicted pitch">
      <div class="chart-choices">
        <Segments
          legend="Stretch of time"
          quiet
          name="range"
          value={window.value.kind === 'range' ? window.value.name : 'drawn'}
          choices={[
            ...ranges.map((name) => [name, name] as const),
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
        register={register.value}
        quantity={quantity.value}
        timeZone={timeZone}
        onQuantity={(next) => {
          quantity.value = next;
        }}
        onDrawn={zoom}
        onOut={() => {
          window.value = { kind: 'range', name: '1 y' };
        }}
      />
      {error && <p class="stale">{error.message}</p>}
      <figcaption>{summary(shown.current.climate, shown.current.pitch, register.value, timeZone)}</figcaption>
      <details class="more">
        <summary>The same as a table</summary>
        <div class="scroll" tabIndex={0} role="region" aria-label="The chart as a table">
          <ChartTable
            climate={shown.current.climate}
            pitch={shown.current.pitch}
            register={register.value}
            timeZone={timeZone}
          />
        </div>
      </details>
    </figure>
  );
}

interface StackProps {
  readonly climate: Climate;
  readonly pitch: Pitch;
  readonly register: Register;
  readonly quantity: AirQuantity;
  readonly timeZone: string;
  readonly onQuantity: (quantity: AirQuantity) => void;
  readonly onDrawn: (fromMs: number, toMs: number) => void;
  readonly onOut: () => void;
}

function Stack(props: StackProps) {
  const { climate, pitch, register, quantity, timeZone } = props;
  const air = useRef<HTMLDivElement>(null);
  const board = useRef<HTMLDivElement>(null);
  const tones = useRef<HTMLDivElement>(null);
  const plots = useRef<Plots | null>(null);
  const latest = useRef(props);
  latest.current = props;
  const pointedMs = useSignal<number | null>(null);
  const announced = useSignal('');
  const unit = temperatureUnit.value;

  const drawing: Drawing = {
    fromMs: climate.fromMs,
    toMs: Math.max(climate.untilMs, climate.fromMs + 1),
    timeZone,
    quantity,
    air: airColumns(climate, quantity),
    board: boardColumns(climate),
    pitch: pitchColumns(pitch, register),
    toleranceCents: pitch.tolerance.levelCents,
    visits: pitch.visits,
  };
  const current = useRef(drawing);
  current.current = drawing;

  useEffect(() => {
    if (!air.current || !board.current || !tones.current) return;
    const made = createPlots(
      { air: air.current, board: board.current, pitch: tones.current },
      current.current,
      {
        pointed: (timeMs) => {
          pointedMs.value = timeMs;
        },
        drawn: (fromMs, toMs) => latest.current.onDrawn(fromMs, toMs),
        out: () => latest.current.onOut(),
      },
    );
    plots.current = made;
    return () => made.destroy();
  }, [pointedMs]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: these are what a drawing is made of
  useEffect(() => {
    plots.current?.draw(current.current);
  }, [climate, pitch, register, quantity, unit, timeZone]);

  // Speaking follows the cursor at rest, not every step of it.
  const at: Readout = readout(drawing, pointedMs.value);
  const words = pointedMs.value === null ? '' : spoken(at, drawing, registerNames[register]);
  useEffect(() => {
    const timer = setTimeout(() => {
      announced.value = words;
    }, 300);
    return () => clearTimeout(timer);
  }, [words, announced]);

  const step = (climate.untilMs - climate.fromMs) / Math.max(climate.timesMs.length, 1);
  const move = (event: KeyboardEvent) => {
    const here = pointedMs.value ?? climate.untilMs;
    const by = (event.shiftKey ? 10 : 1) * step;
    const length = climate.untilMs - climate.fromMs;
    const to =
      event.key === 'ArrowLeft'
        ? here - by
        : event.key === 'ArrowRight'
          ? here + by
          : event.key === 'Home'
            ? climate.fromMs
            : event.key === 'End'
              ? climate.untilMs
              : null;
    if (to !== null) {
      const within = Math.min(climate.untilMs, Math.max(climate.fromMs, to));
      pointedMs.value = within;
      plots.current?.point(within);
    } else if (event.key === '+' || event.key === '=') {
      props.onDrawn(here - length / 4, Math.min(nowMs.value, here + length / 4));
    } else if (event.key === '-') {
      props.onDrawn(climate.fromMs - length / 2, Math.min(nowMs.value, climate.untilMs + length / 2));
    } else if (event.key === 'Escape') {
      pointedMs.value = null;
      plots.current?.point(null);
      props.onOut();
    } else return;
    event.preventDefault();
  };

  return (
    <>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: the cursor of the chart is moved with the arrow keys */}
      {/* biome-ignore lint/a11y/useSemanticElements: a chart is no fieldset */}
      <div
        class="plots"
        role="group"
        tabIndex={0}
        aria-label="Chart. Left and right move the cursor, plus and minus zoom, Escape shows the year."
        onKeyDown={move}
        onBlur={() => {
          pointedMs.value = null;
          plots.current?.point(null);
        }}
      >
        <div class="plot-head">
          <h3>Air, {quantity === 'humidityPct' ? 'relative humidity in %' : `warmth in °${unit}`}</h3>
          <p class="plot-now">
            {climate.inside && (
              <span class="key inside">
                inside <b>{at.inside}</b>
              </span>
            )}
            {climate.room && (
              <span class="key room">
                room <b>{at.room}</b>
              </span>
            )}
            <span class="plot-when">
              {pointedMs.value === null ? 'last' : moment(pointedMs.value, timeZone)}
            </span>
          </p>
        </div>
        <div ref={air} class="plot" />
        <div class="plot-head">
          <h3>Board, moisture in %</h3>
          <p class="plot-now">
            <span class="key inside">
              <b>{at.board}</b> {at.boardWord}
            </span>
          </p>
        </div>
        <div ref={board} class="plot" />
        <div class="plot-head">
          <h3>
            {registerNames[register]}, predicted cents from {pitch.standardHz} Hz
          </h3>
          <p class="plot-now">
            <span class="key pitch">
              <b>{at.pitch}</b>
            </span>
            <span class="key band">tolerance ± {pitch.tolerance.levelCents}</span>
          </p>
        </div>
        <div ref={tones} class="plot" />
      </div>
      <p class="unseen" aria-live="polite">
        {announced.value}
      </p>
      <Segments
        legend="The air’s"
        name="quantity"
        value={quantity}
        choices={[
          ['humidityPct', 'humidity'],
          ['temperatureC', 'temperature'],
        ]}
        onChoose={props.onQuantity}
      />
    </>
  );
}
