/** The fleet by condition, inspections side by side, and moves. */
import { instrument, instruments } from '../registry/instruments.ts';
import { moves, putMove } from '../registry/moves.ts';
import { compare } from '../visits/compare.ts';
import { conditions } from '../visits/conditions.ts';
import { classesOf, climateRisk, priorityOf } from '../visits/priority.ts';
import { remarks } from '../visits/remarks.ts';
import { visitsOf } from '../visits/visits.ts';
import { standings } from '../watch/evaluate.ts';
import type { AppDeps, Handlers } from './handlers.ts';
import { BadRequest } from './problem.ts';

const aheadMs = 10 * 60_000;

export function fleetHandlers(deps: AppDeps): Pick<Handlers, 'fleet' | 'inspections' | 'moves' | 'putMove'> {
  const { db, viewer, watch, now } = deps;
  return {
    async fleet() {
      const [all, stands, looks, open] = await Promise.all([
        instruments(db, viewer),
        standings(db, viewer),
        conditions(db, viewer),
        remarks(db, viewer, { open: true }),
      ]);
      const thisYear = new Date(now()).getUTCFullYear();
      return all.map((one) => {
        const seen = looks.get(one.id) ?? [];
        const classes = classesOf(seen);
        const risk = climateRisk(stands.get(one.id)?.boardClass ?? null, seen);
        return {
          instrumentId: one.id,
          name: one.name,
          kind: one.kind,
          venueName: one.venueName,
          roomName: one.roomName,
          use: one.use,
          year: one.year,
          ageYears: one.year === null ? null : Math.max(0, thisYear - one.year),
          inspectedMs: seen.length === 0 ? null : Math.max(...seen.map((look) => look.atMs)),
          classes,
          climateRisk: risk,
          priority: priorityOf(one.use, classes, risk),
          openRemarks: open.filter((remark) => remark.instrumentId === one.id).length,
        };
      });
    },
    async inspections({ params }) {
      const one = await instrument(db, viewer, params.id);
      return compare(one, await visitsOf(db, viewer, one.id));
    },
    moves: ({ query }) => moves(db, viewer, query.instrument),
    async putMove({ params, body }) {
      if (body.atMs > now() + aheadMs) {
        throw new BadRequest([{ field: 'atMs', sentence: 'atMs: a move cannot be in the future' }]);
      }
      const move = await putMove(db, viewer, { ...body, id: params.id });
      // From then on its air is that of another room.
      if (move.roomId !== null) await watch.reconsider(viewer, [move.instrumentId], move.atMs);
      return move;
    },
  };
}
