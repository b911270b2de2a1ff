/**
 * Speed of the slab: an instrument's year of hours, beside a plain loop that does the same arithmetic and nothing else.
 * Ratios are of one run, taken in turns and compared by their medians, so that what else the machine does falls on both.
 */
import {
  type Air,
  advanceSlab,
  cellShares,
  createSlab,
  DEFAULT_CELLS,
  type Part,
  slabMeanPct,
  soundboardPart,
} from '../../server/science/index.ts';

const HOURS = 8760;
/** As from a sensor: a season, days, and now and then an hour missing. */
const year: Air[] = Array.from({ length: HOURS }, (_, hour) =>
  hour % 1000 === 3
    ? { temperatureC: null, humidityPct: null }
    : {
        temperatureC: 21 + 2 * Math.sin(hour / 24),
        humidityPct: 45 + 12 * Math.sin((2 * Math.PI * hour) / HOURS) + 3 * Math.sin(hour / 40),
      },
);

function part(cells: number): Part {
  return { ...soundboardPart({ thicknessMm: 8, finish: 'varnish', species: 'spruce-sitka' }), cells };
}

/** The plain loop: the same equations written out in one function over bare arrays, prepared before it is timed. */
function plainLoop({ cells, thicknessM, diffusivityM2s, top }: Part): () => number {
  const shares = Float64Array.from(cellShares(cells));
  const w = shares.map((share) => share * thicknessM);
  const edge = 3600 / (1 / top.emissionMps + top.filmSPerM + (w[0] as number) / 2 / diffusivityM2s);
  const a = new Float64Array(cells);
  const inv = new Float64Array(cells);
  const c = new Float64Array(cells);
  for (let i = 0; i < cells; i += 1) {
    const wi = w[i] as number;
    const above = i === 0 ? edge : (7200 * diffusivityM2s) / (wi + (w[i - 1] as number));
    const below = i === cells - 1 ? edge : (7200 * diffusivityM2s) / (wi + (w[i + 1] as number));
    a[i] = i === 0 ? 0 : above / wi;
    inv[i] = 1 / (1 + (above + below) / wi - (i === 0 ? 0 : (a[i] as number) * (c[i - 1] as number)));
    c[i] = i === cells - 1 ? 0 : (below / wi) * (inv[i] as number);
  }
  const enter = edge / (w[0] as number);
  const T = Float64Array.from(year, (hour) => hour.temperatureC ?? Number.NaN);
  const H = Float64Array.from(year, (hour) => hour.humidityPct ?? Number.NaN);
  const m = new Float64Array(cells);
  return () => {
    m.fill(8);
    for (let hour = 0; hour < HOURS; hour += 1) {
      const t = T[hour] as number;
      if (Number.isNaN(t)) continue;
      const W = 349 + 1.29 * t + 0.0135 * t * t;
      const K = 0.805 + 0.000736 * t - 0.00000273 * t * t;
      const K1 = 6.27 - 0.00938 * t - 0.000303 * t * t;
      const K2 = 1.91 + 0.0407 * t - 0.000293 * t * t;
      const kh = (K * (H[hour] as number)) / 100;
      const e =
        (1800 / W) * (kh / (1 - kh) + (K1 * kh + 2 * K1 * K2 * kh * kh) / (1 + K1 * kh + K1 * K2 * kh * kh));
      m[0] = (m[0] as number) + enter * e;
      m[cells - 1] = (m[cells - 1] as number) + enter * e;
      let d = 0;
      for (let i = 0; i < cells; i += 1) {
        d = ((m[i] as number) + (a[i] as number) * d) * (inv[i] as number);
        m[i] = d;
      }
      for (let i = cells - 2; i >= 0; i -= 1) {
        d = (m[i] as number) + (c[i] as number) * d;
        m[i] = d;
      }
    }
    return m.reduce((mean, value, i) => mean + (shares[i] as number) * value, 0);
  };
}

const median = (values: number[]) =>
  values.sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;

function timed(call: () => unknown): number {
  const from = performance.now();
  call();
  return performance.now() - from;
}

/** Bytes that an hour leaves on the heap: a year less an hour, after warming up, with the collector held off. */
function bytesPerHour(of: Part): number {
  const slab = createSlab(of, 8);
  const hour = year.slice(0, 1);
  const grown = (hours: readonly Air[]) => {
    globalThis.gc?.();
    const before = process.memoryUsage().heapUsed;
    advanceSlab(slab, hours);
    return process.memoryUsage().heapUsed - before;
  };
  const rounds = Array.from({ length: 15 }, () => (grown(year) - grown(hour)) / HOURS);
  return median(rounds);
}

function measure(cells: number): { slabMs: number; loopMs: number; ratio: number } {
  const of = part(cells);
  const loop = plainLoop(of);
  const start = createSlab(of, 8);
  const advance = () => advanceSlab(start, year);
  const apart = Math.abs(loop() - slabMeanPct(advance()));
  if (!(apart < 1e-9)) throw new Error(`the plain loop and the slab differ by ${apart}`);
  for (let i = 0; i < 50; i += 1) {
    loop();
    advance();
  }
  const slab: number[] = [];
  const plain: number[] = [];
  for (let i = 0; i < 200; i += 1) {
    plain.push(timed(loop));
    slab.push(timed(advance));
  }
  const [slabMs, loopMs] = [median(slab), median(plain)];
  return { slabMs, loopMs, ratio: slabMs / loopMs };
}

const MOST_MS = 1.2;
const MOST_RATIO = 1.3;
const MOST_BYTES = 1;

let missed = false;
const row = (name: string, value: number, most: number | null, unit: string) => {
  const verdict = most === null ? '' : value <= most ? `  target ${most}, met` : `  target ${most}, MISSED`;
  if (most !== null && !(value <= most)) missed = true;
  console.log(`  ${name.padEnd(58)}${value.toFixed(3).padStart(8)} ${unit}${verdict}`);
};

const ten = measure(10);
row('a slab-year of 8,760 hours, 10 cells', ten.slabMs, MOST_MS, 'ms');
row('the plain loop in the same run', ten.loopMs, null, 'ms');
row('slab over plain loop', ten.ratio, MOST_RATIO, '');
row('heap left by an hour', bytesPerHour(part(10)), MOST_BYTES, 'bytes');
const full = measure(DEFAULT_CELLS);
row(`a slab-year, default grid of ${DEFAULT_CELLS} cells`, full.slabMs, null, 'ms');
row('the plain loop in the same run', full.loopMs, null, 'ms');
row('slab over plain loop', full.ratio, MOST_RATIO, '');
if (missed) process.exitCode = 1;
