/**
 * How the air inside a case follows that of the room while its humidity control works: by a small share on the side on which the
 * control works, nearly all the way on the other. Learned by robust regression on the instrument's own past.
 *
 *   inside − set = level + dryShare · min(0, room − set) + wetShare · max(0, room − set)
 *
 * with the room filtered by the lag of the case.
 *
 * @source Huber-1964
 */
import { median, threeQuantiles } from './quantile.ts';

export type ControlKind = 'humidify' | 'dehumidify' | 'both';

export interface ControlModel {
  readonly setPointPct: number;
  readonly lagDays: number;
  readonly levelPct: number;
  readonly dryShare: number;
  readonly wetShare: number;
  /** Of a daily mean about the line (%RH), and how much of it is still there the next day. */
  readonly residualPct: number;
  readonly carried: number;
  /** Days learned from on which the room stood well to either side of the set point. */
  readonly dryDays: number;
  readonly wetDays: number;
}

/** Lags of a case (days) that are tried. */
export const caseLagDays: readonly number[] = [0.4, 0.8, 1.5, 3];
const setPoints: readonly number[] = [36, 39, 42, 45, 48, 51, 54];

/** Share of the room's distance from the set point that a working control lets through, and that a case without one does. */
const whereItMoistens = { mean: 0.25, sd: 0.15 };
const whereItDries = { mean: 0.4, sd: 0.2 };
const whereItDoesNot = { mean: 0.85, sd: 0.15 };
const usualResidualPct = 1.5;
const leastResidualPct = 0.8;
/** Huber's bend, in residuals. */
const bend = 1.5;
/** Daily means hang together: what many of them say counts for a fourth as many. */
const thinned = 4;
/** A day that shows how one side works stands this far from the set point (%RH). */
const wellOffPct = 4;

/** The room's daily means through a first-order lag; NaN before the first day that is known, held over gaps. */
export function filtered(room: Float64Array, lagDays: number): Float64Array {
  const keep = Math.exp(-1 / lagDays);
  const out = new Float64Array(room.length);
  let value = Number.NaN;
  for (let t = 0; t < room.length; t++) {
    const now = room[t] as number;
    if (!Number.isNaN(now)) value = Number.isNaN(value) ? now : now + (value - now) * keep;
    out[t] = value;
  }
  return out;
}

/** What is expected before any past: the usual shares. */
export function usualModel(kind: ControlKind, setPointPct: number | null): ControlModel {
  return {
    setPointPct: setPointPct ?? 45,
    lagDays: 0.8,
    levelPct: 0,
    dryShare: (kind === 'dehumidify' ? whereItDoesNot : whereItMoistens).mean,
    wetShare: (kind === 'humidify' ? whereItDoesNot : whereItDries).mean,
    residualPct: usualResidualPct,
    carried: 0.6,
    dryDays: 0,
    wetDays: 0,
  };
}

/**
 * @param inside daily means; @param rooms the filtered room for each of `caseLagDays`
 * @param usable 1 for the days to learn from
 */
export function fitControl(
  inside: Float64Array,
  rooms: readonly Float64Array[],
  usable: Uint8Array,
  kind: ControlKind,
  setPointPct: number | null,
): ControlModel | null {
  const days: number[] = [];
  usable.forEach((use, t) => {
    if (use === 1 && !Number.isNaN(inside[t] as number) && !Number.isNaN(rooms[0]?.[t] as number))
      days.push(t);
  });
  if (days.length < 20) return null;
  let best: { model: ControlModel; loss: number } | null = null;
  for (const set of setPointPct === null ? setPoints : [setPointPct]) {
    caseLagDays.forEach((lagDays, i) => {
      const fitted = fitAt(inside, rooms[i] as Float64Array, days, kind, set, lagDays);
      const loss = fitted.loss + (setPointPct === null ? ((set - 45) / 6) ** 2 : 0);
      if (best === null || loss < best.loss) best = { model: fitted.model, loss };
    });
  }
  return (best as { model: ControlModel } | null)?.model ?? null;
}

function fitAt(
  inside: Float64Array,
  room: Float64Array,
  days: readonly number[],
  kind: ControlKind,
  setPointPct: number,
  lagDays: number,
): { model: ControlModel; loss: number } {
  const dry = kind === 'dehumidify' ? whereItDoesNot : whereItMoistens;
  const wet = kind === 'humidify' ? whereItDoesNot : whereItDries;
  const prior = { mean: [0, dry.mean, wet.mean], sd: [2, dry.sd, wet.sd] };
  const n = days.length;
  const x = Float64Array.from(days, (t) => (room[t] as number) - setPointPct);
  const y = Float64Array.from(days, (t) => (inside[t] as number) - setPointPct);
  const misses = new Float64Array(n);
  const sizes = new Float64Array(n);
  let [level, dryShare, wetShare] = prior.mean as [number, number, number];
  let residualPct = usualResidualPct;
  for (let turn = 0; turn < 4; turn++) {
    for (let k = 0; k < n; k++) {
      const at = x[k] as number;
      const miss = (y[k] as number) - level - (at < 0 ? dryShare : wetShare) * at;
      misses[k] = miss;
      sizes[k] = Math.abs(miss);
    }
    residualPct = Math.max(leastResidualPct, 1.4826 * threeQuantiles(sizes, [0.5, 0.5, 0.5])[0]);
    [level, dryShare, wetShare] = weightedLine(x, y, misses, residualPct, prior);
  }
  let loss = 0;
  let dryDays = 0;
  let wetDays = 0;
  for (let k = 0; k < n; k++) {
    const z = Math.abs(misses[k] as number) / residualPct;
    loss += z < bend ? z * z : 2 * bend * z - bend * bend;
    if ((x[k] as number) < -wellOffPct) dryDays++;
    if ((x[k] as number) > wellOffPct) wetDays++;
  }
  return {
    model: {
      setPointPct,
      lagDays,
      levelPct: level,
      dryShare,
      wetShare,
      residualPct,
      carried: carriedOver(days, misses),
      dryDays,
      wetDays,
    },
    loss: loss / thinned + (n / thinned) * 2 * Math.log(residualPct),
  };
}

/** One turn of the regression: days far from the line count less, and the priors speak up where one side was hardly seen. */
function weightedLine(
  x: Float64Array,
  y: Float64Array,
  misses: Float64Array,
  residualPct: number,
  prior: { readonly mean: readonly number[]; readonly sd: readonly number[] },
): [number, number, number] {
  const [p0, p1, p2] = prior.sd.map((sd) => (thinned * residualPct ** 2) / sd ** 2) as [
    number,
    number,
    number,
  ];
  const [m0, m1, m2] = prior.mean as [number, number, number];
  // The dry and the wet side never meet in one day: the matrix is an arrow.
  let [weights, sumDry, sumWet, dryDry, wetWet] = [p0, 0, 0, p1, p2];
  let [sumY, dryY, wetY] = [p0 * m0, p1 * m1, p2 * m2];
  for (let k = 0; k < x.length; k++) {
    const weight = Math.min(1, (bend * residualPct) / Math.max(1e-9, Math.abs(misses[k] as number)));
    const at = x[k] as number;
    const value = weight * (y[k] as number);
    weights += weight;
    sumY += value;
    if (at < 0) {
      sumDry += weight * at;
      dryDry += weight * at * at;
      dryY += value * at;
    } else {
      sumWet += weight * at;
      wetWet += weight * at * at;
      wetY += value * at;
    }
  }
  const level =
    (sumY - (sumDry * dryY) / dryDry - (sumWet * wetY) / wetWet) /
    (weights - sumDry ** 2 / dryDry - sumWet ** 2 / wetWet);
  return [level, (dryY - sumDry * level) / dryDry, (wetY - sumWet * level) / wetWet];
}

/** Correlation of a day's residual with the next day's, bounded so that one long excursion does not silence the test. */
function carriedOver(days: readonly number[], misses: Float64Array): number {
  let both = 0;
  let square = 0;
  const bound = 3 * 1.4826 * median(Array.from(misses, Math.abs));
  const cut = misses.map((miss) => Math.max(-bound, Math.min(bound, miss)));
  for (let i = 1; i < days.length; i++) {
    square += (cut[i] as number) ** 2;
    if ((days[i] as number) - (days[i - 1] as number) === 1)
      both += (cut[i] as number) * (cut[i - 1] as number);
  }
  return Math.min(0.85, Math.max(0.3, square === 0 ? 0.6 : both / square));
}

/** Inside (%RH) with the control working, and with none, where the room stands now. */
export function expectedInside(model: ControlModel, roomPct: number): { working: number; without: number } {
  const x = roomPct - model.setPointPct;
  return {
    working:
      model.setPointPct + model.levelPct + model.dryShare * Math.min(0, x) + model.wetShare * Math.max(0, x),
    without: roomPct,
  };
}
