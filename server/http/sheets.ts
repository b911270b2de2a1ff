/** What a visit begins with: briefs for the device, remarks, the workshop's terms. */
import type { VisitBrief } from '../contract/index.ts';
import { instruments } from '../registry/instruments.ts';
import { placements, sensorRows } from '../registry/sensors.ts';
import { conditions, openFindings, ownTimesOf } from '../visits/conditions.ts';
import { receivedOf } from '../visits/photo-parts.ts';
import { putRemark, remarks } from '../visits/remarks.ts';
import { visitOf } from '../visits/visits.ts';
import { putWorkshop, workshop } from '../visits/workshop.ts';
import { standings } from '../watch/evaluate.ts';
import type { AppDeps, Handlers } from './handlers.ts';
import { airAt } from './places.ts';
import { BadRequest } from './problem.ts';
import { replyFor } from './remark-reply.ts';
import { lastVisits } from './visit-times.ts';

type SheetRoutes =
  | 'visit'
  | 'visitBriefs'
  | 'photoReceived'
  | 'remarks'
  | 'putRemark'
  | 'workshop'
  | 'putWorkshop';

const aheadMs = 10 * 60_000;

export function sheetHandlers(deps: AppDeps): Pick<Handlers, SheetRoutes> {
  const { db, viewer, now } = deps;

  async function briefs(): Promise<VisitBrief[]> {
    const [all, stands, sensors, placed, looks, open, last] = await Promise.all([
      instruments(db, viewer),
      standings(db, viewer),
      sensorRows(db, viewer),
      placements(db, viewer),
      conditions(db, viewer),
      remarks(db, viewer, { open: true }),
      lastVisits(db, viewer),
    ]);
    return all.map((one) => {
      const stand = stands.get(one.id);
      const inside = airAt(sensors, placed, (spot) => spot.instrumentId === one.id, now());
      return {
        instrumentId: one.id,
        name: one.name,
        kind: one.kind,
        use: one.use,
        pitchStandardHz: one.pitchStandardHz,
        venueName: one.venueName,
        roomName: one.roomName,
        timeZone: one.timeZone,
        expected: (stand?.registers ?? []).map(({ register, offsetCents, sdCents }) => ({
          register,
          offsetCents,
          sdCents,
        })),
        advice: stand?.advice.sentence ?? '',
        urgency: stand?.advice.urgency ?? 0,
        air: inside ?? airAt(sensors, placed, (spot) => spot.roomId === one.roomId, now()),
        lastVisitMs: last.get(one.id) ?? null,
        open: openFindings(looks.get(one.id) ?? []),
        remarks: open.filter((remark) => remark.instrumentId === one.id),
      };
    });
  }

  return {
    visit: ({ params }) => visitOf(db, viewer, params.id),
    async visitBriefs() {
      return {
        atMs: now(),
        workshop: await workshop(db, viewer),
        ownTimes: await ownTimesOf(db, viewer),
        instruments: await briefs(),
      };
    },
    photoReceived: ({ params }) => receivedOf(db, viewer, params.id),
    remarks: ({ query }) =>
      remarks(db, viewer, { instrumentId: query.instrument, open: query.open === 'yes' }),
    async putRemark({ params, body }) {
      if (body.atMs > now() + aheadMs) {
        throw new BadRequest([{ field: 'atMs', sentence: 'atMs: a remark cannot be in the future' }]);
      }
      const remark = await putRemark(db, viewer, params.id, body);
      return { remark, reply: await replyFor(deps, body.instrumentId) };
    },
    workshop: () => workshop(db, viewer),
    putWorkshop: ({ body }) => putWorkshop(db, viewer, body),
  };
}
