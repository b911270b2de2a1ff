/** How past words fared: of one instrument, its venue and the whole fleet. Gone on with when more was learned. */
import type { LookBackPage, LookBackScore } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { instruments, type PlacedInstrument } from '../registry/instruments.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { type LookedBack, type PastInterval, type ScoredInterval, scoreOf } from '../science/drift/index.ts';
import { keptIntervals } from './learned.ts';
import type { Thinking } from './thinking.ts';

/** With the climate known up to the visit: what is judged is the wood and the piano, not the weather. */
const horizonDays = 0;

interface Kept {
  /** In the order in which they ended. */
  readonly intervals: readonly PastInterval[];
  readonly scored: ScoredInterval[];
  readonly far: LookedBack;
}
const kept = new WeakMap<Database, Map<string, { fittedMs: number; made: Promise<Kept> }>>();

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
  if (before?.fittedMs === fit.fitted_ms) return (await before.made).scored;
  const made = goneOn(db, viewer, thinking, before?.made ?? null);
  known.set(viewer.organisationId, { fittedMs: fit.fitted_ms, made });
  made.catch(() => {
    if (known.get(viewer.organisationId)?.made === made) known.delete(viewer.organisationId);
  });
  return (await made).scored;
}

/** A visit that ends now adds to what was scored; where anything of the past changed, all of it is scored anew. */
async function goneOn(
  db: Database,
  viewer: Viewer,
  thinking: Thinking,
  earlier: Promise<Kept> | null,
): Promise<Kept> {
  const before = earlier && (await earlier.catch(() => null));
  const intervals = (await pastIntervals(db, viewer)).sort((a, b) => a.observation.toMs - b.observation.toMs);
  const goesOn = before?.intervals.every((one, i) => isAlike(one, intervals[i])) ? before : null;
  const far = await thinking.lookBack(intervals, { horizonDays }, goesOn?.far ?? null);
  const scored = [...(goesOn?.scored ?? []), ...far.scored];
  return { intervals, scored, far: { ...far, scored: [] } };
}

/** Worked out again, a change may be that of another hour of its visit: so near (%MC, K) it is the same. */
const near = 0.1;

function isAlike(before: PastInterval, now: PastInterval | undefined): boolean {
  if (!now) return false;
  const parts = ({ observation, spotHumidityPct }: PastInterval) => {
    const { moistureChangePct, temperatureChangeC, ...exact } = observation;
    return {
      text: JSON.stringify([exact, spotHumidityPct]),
      values: [moistureChangePct, temperatureChangeC].flat(),
    };
  };
  const [was, is] = [parts(before), parts(now)];
  return was.text === is.text && was.values.every((value, i) => Math.abs(value - (is.values[i] ?? 0)) < near);
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
