/** What would another climate change for this instrument? Two runs of one model on the same paths, set against each other. */
import type { BestDates as BestDatesPage, WhatIfBody, WhatIfPage } from '../contract/index.ts';
import { eventsOf } from '../registry/events.ts';
import type { PlacedInstrument } from '../registry/instruments.ts';
import { rooms } from '../registry/venues.ts';
import { Contradiction, NotFound, type Viewer } from '../registry/viewer.ts';
import type { ClimateChange, Comparison, Interval, Place } from '../science/drift/index.ts';
import { type BoardFinding, toleranceFor } from '../science/index.ts';
import type { BoardDeps } from '../series/board.ts';
import { dayMs } from '../series/board-run.ts';
import { loadBoards } from '../series/boards.ts';
import { type ClimateSources, climateSources } from '../series/climate.ts';
import { climateAhead, dailyAirOf } from './daily-air.ts';
import { forecastInput } from './forecasting.ts';
import { driftOf } from './learned.ts';
import type { Thinking } from './thinking.ts';

const yearDays = 365;
/** Where more of a year is missing, nothing is learned from it either. */
const knownShare = 0.8;

/** A place needs a year of its own, without great gaps: both runs go through it. @throws Contradiction naming the field */
async function placeOf(
  deps: BoardDeps,
  viewer: Viewer,
  instrument: PlacedInstrument,
  sources: ClimateSources,
  field: string,
  nowMs: number,
): Promise<Place> {
  const past = await dailyAirOf(deps, viewer, sources, nowMs);
  const days = past.humidityPct.length;
  const first = Math.max(0, days - yearDays);
  let known = 0;
  for (let day = first; day < days; day++) {
    if (typeof past.humidityPct[day] === 'number' && typeof past.temperatureC[day] === 'number') known++;
  }
  if (days < yearDays || known < knownShare * yearDays) {
    throw new Contradiction(
      field,
      `${field}: a year of readings is needed there, ${known} days of the past one are known`,
    );
  }
  return { past, climate: await climateAhead(deps, viewer, instrument, past, nowMs) };
}

async function changeOf(
  deps: BoardDeps,
  viewer: Viewer,
  instrument: PlacedInstrument,
  body: WhatIfBody,
  nowMs: number,
): Promise<ClimateChange> {
  const { hold, roomId } = body;
  if (hold)
    return {
      kind: 'hold',
      where: hold.where === 'room' ? 'room' : 'case',
      lowPct: hold.lowPct,
      highPct: hold.highPct,
    };
  const room = (await rooms(deps.db, viewer)).find((one) => one.id === roomId);
  if (!room) throw new NotFound('roomId', 'roomId: no such room');
  // As another instrument of that room would see it: its air, without what stands inside this one's case.
  const there = { ...instrument, roomId: room.id };
  const { room: sensors } = await climateSources(deps.db, viewer, there);
  const to = await placeOf(deps, viewer, there, { room: sensors, inside: [] }, 'roomId', nowMs);
  return { kind: 'move', to };
}

export async function whatIfOf(
  deps: BoardDeps,
  viewer: Viewer,
  thinking: Thinking,
  instrument: PlacedInstrument,
  body: WhatIfBody,
  findings: readonly BoardFinding[],
  nowMs: number,
): Promise<WhatIfPage> {
  const sources = await climateSources(deps.db, viewer, instrument);
  const place = await placeOf(deps, viewer, instrument, sources, 'id', nowMs);
  const change = await changeOf(deps, viewer, instrument, body, nowMs);
  const room = (await rooms(deps.db, viewer)).find((one) => one.id === instrument.roomId);
  const { posterior, spread, instrument: named } = await driftOf(deps.db, viewer, instrument);
  const board = (await loadBoards(deps.db, [instrument.id])).get(instrument.id);
  const result = await thinking.whatIf({
    instrument: named,
    drift: posterior,
    spread,
    tolerance: toleranceFor(instrument.use),
    board: {
      species: instrument.board.species,
      construction: instrument.board.construction,
      findings,
      referencePct: board?.referencePct ?? null,
    },
    place,
    change,
    room:
      room && room.volumeM3 !== null && room.airChangesPerHour !== null
        ? { volumeM3: room.volumeM3, airChangesPerH: room.airChangesPerHour }
        : null,
  });
  return {
    pastYear: comparison(result.pastYear),
    coming: comparison(result.coming),
    litresAdded: result.water && Math.round(result.water.addedLitres),
    litresRemoved: result.water && Math.round(result.water.removedLitres),
    caution: result.caution,
  };
}

function comparison({ days, asIs, changed, difference }: Comparison): WhatIfPage['pastYear'] {
  const set = (before: Interval, after: Interval, apart: Interval) => {
    const { mean: by, low, high } = apart;
    return { asItIs: before.mean, changed: after.mean, by, low, high };
  };
  const of = (key: 'daysBeyond' | 'pitchDays' | 'unisonDays' | 'tunings') =>
    set(asIs[key], changed[key], difference[key]);
  return {
    days,
    daysBeyond: of('daysBeyond'),
    pitchDays: of('pitchDays'),
    unisonDays: of('unisonDays'),
    tunings: of('tunings'),
    boardDays: difference.boardDays.flatMap((apart, i) => {
      const [before, after] = [asIs.boardDays[i], changed.boardDays[i]];
      return before && after ? [set(before, after, apart)] : [];
    }),
  };
}

/** The dates of the coming year that keep it within tolerance for the most days. */
export async function bestDatesOf(
  deps: BoardDeps,
  viewer: Viewer,
  thinking: Thinking,
  instrument: PlacedInstrument,
  tunings: number,
  nowMs: number,
): Promise<BestDatesPage> {
  const input = await forecastInput(deps, viewer, instrument, nowMs);
  if (typeof input === 'string')
    throw new Contradiction('id', `id: nothing can be foretold of it (${input})`);
  const events = await eventsOf(deps.db, viewer, { instrumentId: instrument.id, fromMs: nowMs });
  const best = await thinking.bestDates({
    ...input,
    tunings,
    events: events
      .filter((event) => event.startMs < nowMs + yearDays * dayMs)
      .map(({ startMs }) => ({ atMs: startMs })),
  });
  return {
    dates: best.dates.map(({ atMs, because }) => ({ atMs, why: because })),
    daysWithin: best.daysWithin,
    habitDaysWithin: best.habit.daysWithin,
    gainDays: best.gain.meanDays,
    gainLowDays: best.gain.lowDays,
    gainHighDays: best.gain.highDays,
    days: best.days,
    words: best.because,
  };
}
