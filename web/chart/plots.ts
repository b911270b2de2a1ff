/** The three plots of an instrument, stacked on one time axis: air, board, pitch. */
import uPlot from 'uplot';
import { plain, signed } from '../words/numbers.ts';
import { type Colours, onColourChange, readColours } from './colours.ts';
import { drawBestWeeks, drawFan, drawSheet, drawToday } from './draw-coming.ts';
import { drawLeftOut } from './draw-left-out.ts';
import { drawRamp, drawTolerance, drawVisits } from './draw-marks.ts';
import type { Drawing } from './drawing.ts';
import { airRange, boardRange, pitchRange } from './ranges.ts';
import { ticks } from './ticks.ts';
import { leastDragPx, zoomByTouch } from './touch.ts';

export interface Hosts {
  readonly air: HTMLElement;
  readonly board: HTMLElement;
  readonly pitch: HTMLElement;
}

export interface Handlers {
  /** The cursor stands at this instant; null when it left. */
  readonly pointed: (timeMs: number | null) => void;
  readonly drawn: (fromMs: number, toMs: number) => void;
  readonly out: () => void;
}

export interface Plots {
  readonly draw: (drawing: Drawing) => void;
  readonly point: (timeMs: number | null) => void;
  readonly destroy: () => void;
}

const labelFont = '13px "Source Sans 3", system-ui, sans-serif';
const yAxisPx = 44;
const rightPx = 10;
const xAxisPx = 28;

function heights(width: number): Record<keyof Hosts, number> {
  return width < 600
    ? { air: 126, board: 132, pitch: 168 + xAxisPx }
    : { air: 148, board: 156, pitch: 190 + xAxisPx };
}

/** Builds the plots in their hosts. They follow the hosts' width and the reader's choice of light or dark. */
export function createPlots(hosts: Hosts, first: Drawing, handlers: Handlers): Plots {
  let now = first;
  let colours: Colours = readColours(hosts.air);
  const syncKey = `instrument-${Math.random()}`;

  const yAxis = (space: number, values: (value: number) => string): uPlot.Axis => ({
    scale: 'y',
    side: 3,
    size: yAxisPx,
    gap: 6,
    font: labelFont,
    space,
    stroke: () => colours.ink2,
    grid: { stroke: () => colours.rule, width: 1 },
    ticks: { show: false },
    values: (_u, splits) => splits.map(values),
  });

  const marksFor = (u: uPlot) => {
    const plotWidth = u.bbox.width / uPlot.pxRatio;
    const leastApartMs = ((now.toMs - now.fromMs) * 64) / Math.max(plotWidth, 1);
    return ticks(now.fromMs, now.toMs, leastApartMs, now.timeZone);
  };

  const xAxis: uPlot.Axis = {
    scale: 'x',
    side: 2,
    size: xAxisPx,
    gap: 6,
    font: labelFont,
    stroke: () => colours.ink2,
    grid: { show: false },
    ticks: { stroke: () => colours.rule, width: 1, size: 5 },
    splits: (u) => marksFor(u).map(({ timeMs }) => timeMs),
    values: (u) => marksFor(u).map(({ words }) => words),
  };

  const line = (stroke: () => string, more: Partial<uPlot.Series> = {}): uPlot.Series => ({
    scale: 'y',
    stroke,
    width: 1.4,
    spanGaps: false,
    points: { show: false },
    ...more,
  });

  const pointed = (u: uPlot) => {
    const left = u.cursor.left ?? -1;
    handlers.pointed(left < 0 ? null : u.posToVal(left, 'x'));
  };

  const selected = (u: uPlot) => {
    const { left, width } = u.select;
    if (width < leastDragPx) return;
    const from = u.posToVal(left, 'x');
    const to = u.posToVal(left + width, 'x');
    u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
    handlers.drawn(from, to);
  };

  const base = (key: keyof Hosts): Omit<uPlot.Options, 'series' | 'axes'> => ({
    width: hosts[key].clientWidth,
    height: heights(hosts[key].clientWidth)[key],
    // Room for half a label above and, where no time axis follows, below.
    padding: [8, rightPx, key === 'pitch' ? 0 : 8, 0],
    legend: { show: false },
    cursor: {
      y: false,
      // The edges of a band need no dots of their own.
      points: { size: (_u, i) => (key === 'pitch' && i !== 2 ? 0 : 7), width: 0 },
      // In a gap, and on the coming days, no dot of a value from elsewhere stands.
      hover: { prox: 12 },
      drag: { x: true, y: false, setScale: false, dist: leastDragPx },
      sync: { key: syncKey, setSeries: false, scales: ['x', null] },
      bind: {
        dblclick: () => () => {
          handlers.out();
          return null;
        },
      },
    },
  });

  const x: uPlot.Scale = { time: false, range: () => [now.fromMs, now.toMs] };
  const noXAxis: uPlot.Axis = { scale: 'x', show: false };

  const air = new uPlot(
    {
      ...base('air'),
      scales: { x, y: { range: () => airRange(now) } },
      axes: [noXAxis, yAxis(32, (value) => plain(value))],
      series: [{}, line(() => colours.ink2, { alpha: 0.55, width: 1 }), line(() => colours.ink)],
      hooks: {
        drawClear: [(u) => drawSheet(u, now, colours), (u) => drawLeftOut(u, now, colours)],
        draw: [
          (u) => {
            if (now.quantity === 'humidityPct') {
              drawFan(u, now.coming?.humidityPct, colours.ink2);
            }
          },
          (u) => drawVisits(u, now, colours, false),
          (u) => drawToday(u, now, colours),
        ],
        setCursor: [pointed],
        setSelect: [selected],
      },
    },
    [...now.air],
    hosts.air,
  );
  const board = new uPlot(
    {
      ...base('board'),
      scales: { x, y: { range: () => boardRange(now) } },
      axes: [noXAxis, yAxis(28, (value) => plain(value, Number.isInteger(value) ? 0 : 1))],
      series: [{}, line(() => colours.ink, { width: 1.7 }), line(() => colours.ink2, { dash: [3, 3] })],
      hooks: {
        drawClear: [(u) => drawSheet(u, now, colours)],
        draw: [
          (u) => drawFan(u, now.coming?.moisturePct, colours.ink),
          (u) => drawRamp(u, now, colours),
          (u) => drawVisits(u, now, colours, false),
        ],
        setCursor: [pointed],
        setSelect: [selected],
      },
    },
    [...now.board],
    hosts.board,
  );
  const pitch = new uPlot(
    {
      ...base('pitch'),
      scales: { x, y: { range: () => pitchRange(now) } },
      axes: [xAxis, yAxis(30, (value) => signed(value))],
      series: [
        {},
        line(() => 'transparent', { width: 0 }),
        line(() => colours.accent, { width: 2 }),
        line(() => 'transparent', { width: 0 }),
      ],
      bands: [
        { series: [3, 1], fill: () => colours.accent.replace('rgb(', 'rgba(').replace(')', ', 0.18)') },
      ],
      hooks: {
        drawClear: [(u) => drawSheet(u, now, colours), (u) => drawTolerance(u, now, colours)],
        draw: [
          (u) => drawFan(u, now.coming?.offsetCents, colours.accent),
          (u) => drawVisits(u, now, colours, true),
          (u) => drawBestWeeks(u, now, colours),
        ],
        setCursor: [pointed],
        setSelect: [selected],
      },
    },
    [...now.pitch],
    hosts.pitch,
  );
  const plots = { air, board, pitch };
  const all = Object.values(plots);

  const fit = () => {
    const width = hosts.air.clientWidth;
    if (width === 0 || width === air.width) return;
    const high = heights(width);
    for (const key of ['air', 'board', 'pitch'] as const) plots[key].setSize({ width, height: high[key] });
  };
  const undo = all.map((u) => zoomByTouch(u, handlers.drawn));
  undo.push(
    onColourChange(() => {
      // Paper is narrower, and no observer calls back before it is printed.
      fit();
      colours = readColours(hosts.air);
      for (const u of all) u.redraw(false, true);
    }),
  );
  // The faces may arrive after the first drawing.
  void document.fonts.ready.then(() => {
    for (const u of all) if (u.root.isConnected) u.redraw(false, true);
  });

  const resize = new ResizeObserver(fit);
  resize.observe(hosts.air);

  return {
    draw(drawing) {
      now = drawing;
      air.setData([...now.air]);
      board.setData([...now.board]);
      pitch.setData([...now.pitch]);
    },
    point(timeMs) {
      const left = timeMs === null ? -10 : air.valToPos(timeMs, 'x');
      for (const u of all) u.setCursor({ left, top: 10 }, false);
    },
    destroy() {
      resize.disconnect();
      for (const un of undo) un();
      for (const u of all) u.destroy();
    },
  };
}
