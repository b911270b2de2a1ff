import { instrument } from '../registry/instruments.ts';
import { implausiblePitch } from '../visits/plausible-pitch.ts';
import { implausibleSheet } from '../visits/plausible-sheet.ts';
import { putVisit, visitsOf } from '../visits/visits.ts';
import type { AppDeps, Handlers } from './handlers.ts';
import { BadRequest } from './problem.ts';

/** A device's clock may run a little ahead. */
const aheadMs = 10 * 60_000;

export function visitHandlers({ db, viewer, watch, now }: AppDeps): Pick<Handlers, 'visits' | 'putVisit'> {
  return {
    visits: ({ query }) => visitsOf(db, viewer, query.instrument),
    async putVisit({ params, body }) {
      if (body.atMs > now() + aheadMs) {
        throw new BadRequest([{ field: 'atMs', sentence: 'atMs: a visit cannot be in the future' }]);
      }
      const { pitchStandardHz } = await instrument(db, viewer, body.instrumentId, 'instrumentId');
      const faults = [...implausiblePitch(body, pitchStandardHz), ...implausibleSheet(body)];
      if (faults.length > 0) throw new BadRequest(faults);
      const visit = await putVisit(db, viewer, params.id, body, now());
      // The advice changes with the answer, not some seconds after it.
      await watch.reconsider(viewer, [body.instrumentId], null);
      return visit;
    },
  };
}
