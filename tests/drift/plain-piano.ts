/** A piano of a plain fleet in a room with seasons, as forecasts, decisions and what-ifs are given it. */
import {
  boardNow,
  type DailyAir,
  type DriftObservation,
  type ForecastInput,
  fitDrift,
  fitSpread,
  lagGridDays,
  moistureCourse,
  registers,
  roomClimate,
  seededRandom,
  sinceTuning,
} from '../../server/science/drift/index.ts';
import { toleranceFor } from '../../server/science/pitch.ts';

export const day = 86_400_000;
export const startMs = Date.UTC(2031, 0, 1);

/** A room with a season of its own: driest in mid February, dampest in mid August. */
export function room(
  days: number,
  options: { level?: number; swing?: number; noise?: number; seed?: number } = {},
): DailyAir {
  const { level = 45, swing = 13, noise = 2.5, seed = 3 } = options;
  const random = seededRandom(seed);
  let fast = 0;
  return {
    startMs,
    temperatureC: Float64Array.from({ length: days }, () => 21 + 0.5 * random.normal()),
    humidityPct: Float64Array.from({ length: days }, (_, t) => {
      fast = 0.8 * fast + noise * 0.6 * random.normal();
      return level - swing * Math.cos((2 * Math.PI * (t - 45)) / 365.25) + fast;
    }),
  };
}

/** A fleet that moves as a plain one does: 3 cents per %MC in the middle, twice that in the tenor. */
function observations(): DriftObservation[] {
  const random = seededRandom(12);
  const slopes = { bass: 1.8, tenor: 6, middle: 3.1, treble: 2.4, top: 1.1 };
  return Array.from({ length: 150 }, (_, i) => {
    const m = 1.8 * random.normal();
    const years = 0.3 + 0.4 * random.uniform();
    const temperatureChangeC = 2 * random.normal();
    return {
      instrument: `i${i % 25}`,
      kind: 'grand',
      finish: 'lacquer',
      fromMs: 0,
      toMs: 0,
      moistureChangePct: lagGridDays.map(() => m),
      years,
      temperatureChangeC,
      changeCents: Object.fromEntries(
        registers.map((r) => [r, slopes[r] * m - 1.8 * years - 0.35 * temperatureChangeC + random.normal()]),
      ),
    };
  });
}

export const drift = fitDrift(observations(), { prior: 'trade' });
export const instrument = { id: 'i3', kind: 'grand', finish: 'lacquer' } as const;

/** As it stands after `days` of a room's climate, tuned `ago` days before. */
export function input(
  days: number,
  ago: number,
  use: 'concert' | 'studio' | 'practice' = 'practice',
  air = room(days),
): ForecastInput {
  const course = moistureCourse({ ...air, stepMs: day }, lagGridDays);
  const since = sinceTuning(course, {
    tunedMs: startMs + (days - ago) * day,
    leftCents: Object.fromEntries(registers.map((register) => [register, 0])),
    temperatureC: 21,
    raiseCents: 0,
    strungMs: null,
  });
  if (since === null) throw new Error('the tuning lies before the climate');
  return {
    instrument,
    drift,
    spread: fitSpread([]),
    climate: roomClimate({ own: air }),
    board: boardNow(course),
    since,
    tolerance: toleranceFor(use),
    seed: 11,
  };
}

/** Unisons that hardly move, so that a test of the offset is one. */
export const stillUnisons = { ...fitSpread([]), unison: 0.05, use: 0.2 };
