/** Simulated rooms as a forecast of humidity meets them: twenty-six months of daily means, as a sensor gives them. */
import { type DailyAir, dailyMeans } from '../../../server/science/drift/index.ts';
import { seededRandom } from '../../../server/science/drift/random.ts';
import { roomOf, sensed } from './room.ts';
import { climates, stepMs, weatherOf } from './weather.ts';

const startMs = Date.UTC(2031, 0, 1);

/** Thirteen months to learn from and twelve in which origins lie, with a month after the last of them. */
export function roomYear(seed: number): DailyAir {
  const random = seededRandom(seed);
  const climate = climates[Math.floor(random.uniform() * climates.length)] ?? {
    meanC: 9,
    annualC: 10,
    humidityPct: 75,
  };
  const air = sensed(random, roomOf(random, weatherOf(random, climate, 790)));
  return dailyMeans({ startMs, stepMs, ...air });
}
