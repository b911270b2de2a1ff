/** The three plots with their headings and the values under the cursor. */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import 'uplot/dist/uPlot.min.css';
import type { Climate, Pitch, Register } from '../../server/contract/index.ts';
import { temperatureUnit } from '../words/temperature.ts';
import { registerNames } from '../words/terms.ts';
import { moment } from '../words/times.ts';
import './chart.css';
import { type AirQuantity, airColumns, boardColumns, pitchColumns } from './columns.ts';
import type { Coming } from './coming.ts';
import type { Drawing } from './drawing.ts';
import { pressed } from './keys.ts';
import { createPlots, type Plots } from './plots.ts';
import { type Readout, readout, spoken } from './readout.ts';

interface StackProps {
  readonly climate: Climate;
  /** The stretch to show: at once what was drawn out, while its details are still on their way. */
  readonly fromMs: number;
  readonly toMs: number;
  readonly pitch: Pitch;
  readonly coming: Coming | null;
  readonly register: Register;
  readonly quantity: AirQuantity;
  readonly timeZone: string;
  readonly onDrawn: (fromMs: number, toMs: number) => void;
  readonly onOut: () => void;
}

export function Stack(props: StackProps) {
  const { climate, pitch, coming, register, quantity, timeZone, fromMs, toMs } = props;
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
    fromMs,
    toMs: Math.max(toMs, fromMs + 1),
    timeZone,
    quantity,
    air: airColumns(climate, quantity),
    board: boardColumns(climate),
    pitch: pitchColumns(pitch, register),
    toleranceCents: pitch.tolerance.levelCents,
    leftOut: climate.leftOut,
    coming,
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
  useEffect(() => {
    plots.current?.draw(current.current);
  }, [climate, pitch, coming, register, quantity, unit, timeZone, fromMs, toMs]);

  // Speaking follows the cursor at rest, not every step of it.
  const at: Readout = readout(drawing, pointedMs.value);
  const words = pointedMs.value === null ? '' : spoken(at, drawing, registerNames[register]);
  useEffect(() => {
    const timer = setTimeout(() => {
      announced.value = words;
    }, 300);
    return () => clearTimeout(timer);
  }, [words, announced]);

  const press = (event: KeyboardEvent) => {
    const act = pressed(event, {
      // The walk begins today.
      hereMs: pointedMs.value ?? Math.min(toMs, climate.untilMs),
      fromMs,
      untilMs: toMs,
      stepMs: (climate.untilMs - climate.fromMs) / Math.max(climate.timesMs.length, 1),
    });
    if (act === null) return;
    event.preventDefault();
    if (act.kind === 'point') {
      pointedMs.value = act.timeMs;
      plots.current?.point(act.timeMs);
    } else if (act.kind === 'draw') {
      props.onDrawn(act.fromMs, Math.min(coming?.untilMs ?? climate.untilMs, act.toMs));
    } else {
      pointedMs.value = null;
      plots.current?.point(null);
      props.onOut();
    }
  };

  return (
    <>
      <section
        class="plots"
        // biome-ignore lint/a11y/noNoninteractiveTabindex: arrow keys move the chart's cursor
        tabIndex={0}
        aria-label="Chart. Left and right move the cursor, plus and minus zoom, Escape shows the year."
        onKeyDown={press}
        onBlur={() => {
          pointedMs.value = null;
          plots.current?.point(null);
        }}
      >
        <div class="plot-head">
          <h3>Air, {quantity === 'humidityPct' ? 'relative humidity in %' : `warmth in °${unit}`}</h3>
          <p class="plot-now">
            <span>{pointedMs.value === null ? 'latest' : moment(pointedMs.value, timeZone)}</span>
            {at.foretold !== '' && (
              <span class="key foretold">
                foretold <b>{at.foretold}</b>
              </span>
            )}
            {climate.leftOut.some((one) => one.untilMs >= fromMs && one.fromMs <= toMs) && (
              <span class="key left-out">left out: in doubt</span>
            )}
            {climate.inside && at.foretold === '' && (
              <span class="key inside">
                inside <b>{at.inside}</b>
              </span>
            )}
            {climate.room && at.foretold === '' && (
              <span class="key room">
                room <b>{at.room}</b>
              </span>
            )}
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
            {coming && <span class="key fan">8 in 10 within</span>}
            <span class="key band">tolerance ± {pitch.tolerance.levelCents}</span>
          </p>
        </div>
        <div ref={tones} class="plot" />
      </section>
      <p class="unseen" aria-live="polite">
        {announced.value}
      </p>
    </>
  );
}
