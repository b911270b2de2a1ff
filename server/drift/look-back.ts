/** How past words fared: of one instrument, its venue and the whole fleet. Worked out anew when more was learned. */
import type { LookBackPage, LookBackScore } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { instruments, type PlacedInstrument } from '../registry/instruments.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { type PastInterval, type ScoredInterval, scoreOf } from '../science/drift/index.ts';
import { keptIntervals } from './learned.ts';
import type { Thinking } from './thinking.ts';

/** With the climate known up to the visit: what is judged is the wood and the piano, not the weather. */
const horizonDays = 0;

const kept = new WeakMap<Database, Map<string, { fittedMs: number; scored: Promise<ScoredInterval[]> }>>();

async function pastIntervals(db: Database, viewer: Viewer): Promise<PastInterval[]> {
  const all = [...(await keptIntervals(db, viewer)).values()];
  return all.flatMap(({ observations, spotHumidityPct }) =>
    observations.map((observation, i) => ({
      observation,
      spotHumidityPct: spotHumidityPct[i] ?? { from: null, to: null },
    })),
  );
}

/** The whole fleet's look-back, each interval scored from what was known before it. */
export async function lookBackOf(
  db: Database,
  viewer: Viewer,
  thinking: Thinking,
): Promise<ScoredInterval[]> {
  const fit = await db
    .selectFrom('drift_fit')
    .$call(seenBy(viewer, 'drift_fit'))
    .select('fitted_ms')
    .executeTakeFirst();
  if (!fit) return [];
  const known = kept.get(db) ?? new Map();
  kept.set(db, known);
  const before = known.get(viewer.organisationId);
  if (before?.fittedMs === fit.fitted_ms) return before.scored;
  const scored = thinking.lookBack(await pastIntervals(db, viewer), { horizonDays });
  known.set(viewer.organisationId, { fittedMs: fit.fitted_ms, scored });
  scored.catch(() => known.delete(viewer.organisationId));
  return scored;
}

const rivalWords: Readonly<Record<string, string>> = {
  'no change': 'no change since the tuning',
  'same season last year': 'the same season last year',
  calendar: 'the calendar alone',
  'spot humidity': 'humidity read at the visits',
};

function judge(scored: readonly ScoredInterval[]): LookBackScore {
  const score = scoreOf(scored);
  if (!score) return { intervals: 0, coverage: null, missCents: null, rivals: [] };
  return {
    intervals: score.intervals,
    coverage: score.coverage,
    missCents: score.errorCents,
    rivals: Object.entries(score.rivalCents).map(([name, missCents]) => ({
      name: rivalWords[name] ?? name,
      missCents,
    })),
  };
}

export async function lookBackPage(
  db: Database,
  viewer: Viewer,
  thinking: Thinking,
  instrument: PlacedInstrument,
): Promise<LookBackPage> {
  const fleet = await lookBackOf(db, viewer, thinking);
  const neighbours = new Set(
    (await instruments(db, viewer)).filter((one) => one.venueId === instrument.venueId).map((one) => one.id),
  );
  const own = fleet.filter((one) => one.instrument === instrument.id);
  return {
    visits: own
      .toSorted((a, b) => b.toMs - a.toMs)
      .map(({ fromMs, toMs, registers }) => ({
        fromMs,
        toMs,
        registers: registers.map(({ register, expectedCents, lowCents, highCents, foundCents }) => ({
          register,
          saidCents: expectedCents,
          lowCents,
          highCents,
          foundCents,
        })),
      })),
    instrument: judge(own),
    venue: judge(fleet.filter((one) => neighbours.has(one.instrument))),
    fleet: judge(fleet),
  };
}
