/** What was learned of an instrument's drift, and how past words fared. */
import { anchorsOf, heardFromMs } from '../drift/anchors.ts';
import { forecastOf } from '../drift/forecasting.ts';
import { learnedPage, movesSince } from '../drift/insight.ts';
import { driftOf, keptIntervals } from '../drift/learned.ts';
import { lookBackPage } from '../drift/look-back.ts';
import { anchorAt } from '../drift/pitch-course.ts';
import { bestDatesOf, whatIfOf } from '../drift/what-if.ts';
import { instrument } from '../registry/instruments.ts';
import { boardHours } from '../series/board.ts';
import { climateSources, hourMs } from '../series/climate.ts';
import { visitsOf } from '../visits/visits.ts';
import { boardFindingsOf } from '../watch/findings.ts';
import type { AppDeps, Handlers } from './handlers.ts';

type DriftRoutes = 'learned' | 'lookBack' | 'forecast' | 'bestDates' | 'whatIf';

export function driftHandlers(deps: AppDeps): Pick<Handlers, DriftRoutes> {
  const { db, viewer, thinking, now } = deps;
  return {
    async learned({ params }) {
      const one = await instrument(db, viewer, params.id);
      const nowMs = now();
      const visits = await visitsOf(db, viewer, one.id);
      const anchor = anchorAt(anchorsOf(visits, one.pitchStandardHz), nowMs);
      const sources = await climateSources(db, viewer, one);
      const hours =
        anchor && (await boardHours(deps, viewer, one, sources, heardFromMs(anchor) - hourMs, nowMs));
      const current = anchor && hours ? movesSince(anchor, hours, nowMs) : [];
      const drift = await driftOf(db, viewer, one);
      return learnedPage(drift, (await keptIntervals(db, viewer)).get(one.id), current);
    },
    forecast: async ({ params }) =>
      forecastOf(deps, viewer, thinking, await instrument(db, viewer, params.id), now()),
    bestDates: async ({ params, query }) =>
      bestDatesOf(deps, viewer, thinking, await instrument(db, viewer, params.id), query.tunings, now()),
    async whatIf({ params, body }) {
      const one = await instrument(db, viewer, params.id);
      const findings = boardFindingsOf(await visitsOf(db, viewer, one.id));
      return whatIfOf(deps, viewer, thinking, one, body, findings, now());
    },
    lookBack: async ({ params }) =>
      lookBackPage(db, viewer, thinking, await instrument(db, viewer, params.id)),
  };
}
