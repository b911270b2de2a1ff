/** Paths of the coming days: humidity, temperature and the board's moisture, drawn together and kept, so that other runs can reuse them. */
import { equilibriumMoisturePct } from '../wood.ts';
import { boardLag, type MoistureCourse, meanOf, stepBoard } from './board-lag.ts';
import { drawCourse } from './daily-course.ts';
import type { Random } from './random.ts';
import type { RoomClimate } from './room-climate.ts';

/** `count` paths of `days` days, path after path in each array. */
export interface Paths {
  readonly count: number;
  readonly days: number;
  /** Beginning of the first day. */
  readonly startMs: number;
  readonly humidityPct: Float64Array;
  readonly temperatureC: Float64Array;
  readonly moisturePct: Float64Array;
  /** Which lag of the grid each path's board has. */
  readonly lagOf: Int32Array;
}

/** Where the board stands before the first day, at each lag of the grid. */
export interface BoardNow {
  readonly lagDays: readonly number[];
  readonly state: readonly (readonly number[] | Float64Array)[];
}

export function boardNow(course: MoistureCourse): BoardNow {
  return { lagDays: course.lagDays, state: course.end };
}

/** What humidity may be in a room with people in it: paths are cut here (%RH). */
const driest = 3;
const wettest = 97;

export function drawPaths(
  climate: RoomClimate,
  board: BoardNow,
  lagWeights: readonly number[],
  days: number,
  count: number,
  random: Random,
): Paths {
  const humidityPct = drawCourse(climate.humidity, days, count, random);
  const temperatureC = drawCourse(climate.temperature, days, count, random);
  for (let i = 0; i < humidityPct.length; i++) {
    humidityPct[i] = Math.min(wettest, Math.max(driest, humidityPct[i] as number));
    temperatureC[i] = Math.min(45, Math.max(-15, temperatureC[i] as number));
  }
  const lagOf = drawLags(lagWeights, count, random);
  const moisturePct = boardAlong(humidityPct, temperatureC, board, lagOf, days);
  return { count, days, startMs: climate.humidity.nextMs, humidityPct, temperatureC, moisturePct, lagOf };
}

/** Lags in their due shares, in an order that has nothing to do with the paths'. */
export function drawLags(weights: readonly number[], count: number, random: Random): Int32Array {
  const lagOf = new Int32Array(count);
  for (let k = 0; k < count; k++) {
    let rest = random.uniform();
    let lag = 0;
    while (lag < weights.length - 1 && rest > (weights[lag] as number)) {
      rest -= weights[lag] as number;
      lag++;
    }
    lagOf[k] = lag;
  }
  return lagOf;
}

/** Mean moisture of the board at the end of each day of each path. */
export function boardAlong(
  humidityPct: Float64Array,
  temperatureC: Float64Array,
  board: BoardNow,
  lagOf: Int32Array,
  days: number,
): Float64Array {
  const lags = board.lagDays.map((lagDays) => boardLag(lagDays));
  const keep = lags.map((lag) => lag.ratesPerDay.map((rate) => Math.exp(-rate)));
  const out = new Float64Array(humidityPct.length);
  const state = new Float64Array(lags[0]?.weights.length ?? 0);
  for (let k = 0; k < lagOf.length; k++) {
    const at = lagOf[k] as number;
    const lag = lags[at] as (typeof lags)[0];
    const kept = keep[at] as readonly number[];
    state.set(board.state[at] as ArrayLike<number>);
    for (let t = k * days; t < (k + 1) * days; t++) {
      stepBoard(state, kept, equilibriumMoisturePct(temperatureC[t] as number, humidityPct[t] as number));
      out[t] = meanOf(state, lag);
    }
  }
  return out;
}
