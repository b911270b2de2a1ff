/** Gathers what a report shows, has it drawn, and names the file. */
import type { Visit } from '../contract/index.ts';
import { instrument, instruments } from '../registry/instruments.ts';
import { stays } from '../registry/moves.ts';
import { sensorsAt } from '../registry/sensors.ts';
import { rooms, venues } from '../registry/venues.ts';
import { NotFound } from '../registry/viewer.ts';
import type { ClimateColumns } from '../reports/climate-chart.ts';
import { inventoryCsv } from '../reports/inventory-out.ts';
import { pdf } from '../reports/pdf.ts';
import { type ClimateSources, climateOf, climateSources, hourFloor, hourMs } from '../series/climate.ts';
import { conditions } from '../visits/conditions.ts';
import { photoBytes } from '../visits/photos.ts';
import { classesOf, climateRisk, priorityOf } from '../visits/priority.ts';
import { remarks } from '../visits/remarks.ts';
import { isTuning, visitOf, visitsOf } from '../visits/visits.ts';
import { workshop } from '../visits/workshop.ts';
import { standings } from '../watch/evaluate.ts';
import type { FileHandlers } from './files.ts';
import type { AppDeps } from './handlers.ts';
import { BadRequest } from './problem.ts';

const dayMs = 86_400_000;
/** Points across the chart's width, and how far back it looks where there was no visit before. */
const chartPoints = 400;
const usualDays = 182;

type Reports = Omit<FileHandlers, 'putPhoto' | 'photo' | 'taskPhoto'>;

export function reportFiles(deps: AppDeps): Reports {
  const { db, store, viewer, now } = deps;

  async function air(
    sources: ClimateSources,
    fromMs: number,
    toMs: number,
    about: Pick<ClimateColumns, 'wished' | 'visitsMs' | 'timeZone'>,
  ): Promise<ClimateColumns | null> {
    const from = hourFloor(fromMs);
    if (toMs - from < 2 * hourMs) return null;
    const widthMs = Math.max(1, Math.ceil((toMs - from) / hourMs / chartPoints)) * hourMs;
    const climate = await climateOf(store, viewer, sources, from, toMs, widthMs);
    const series = climate.inside ?? climate.room;
    if (!series) return null;
    const where = climate.inside ? 'inside the piano' : 'in the room';
    return { ...series, fromMs: from, widthMs, where, ...about };
  }

  async function photosOf(visit: Visit) {
    return Promise.all(
      (visit.sheet?.photos ?? []).map(async ({ id, caption, mark }) => {
        const row = await db
          .selectFrom('photo')
          .select(['width_px', 'height_px'])
          .where('organisation_id', '=', viewer.organisationId)
          .where('id', '=', id)
          .executeTakeFirst();
        const bytes = row ? await photoBytes(db, viewer, id, 'large') : null;
        return {
          caption,
          mark,
          jpeg: bytes?.toString('base64') ?? null,
          widthPx: row?.width_px ?? 1,
          heightPx: row?.height_px ?? 1,
        };
      }),
    );
  }

  return {
    async visitReport({ params, query }) {
      const visit = await visitOf(db, viewer, params.id);
      const one = await instrument(db, viewer, visit.instrumentId);
      const all = await visitsOf(db, viewer, one.id);
      const before = all.find((other) => other.atMs < visit.atMs && other.id !== visit.corrects);
      // Where it stood that day; it may have been moved since.
      const stay = (await stays(db, viewer, one)).findLast(({ fromMs }) => (fromMs ?? 0) <= visit.atMs);
      const room = (await rooms(db, viewer)).find(({ id }) => id === (stay?.roomId ?? one.roomId));
      const answered = visit.sheet?.remarksAnswered ?? [];
      const reported = await remarks(db, viewer, { instrumentId: one.id });
      const fromMs = Math.max(before?.atMs ?? 0, visit.atMs - 2 * 366 * dayMs);
      const bytes = await pdf('visit', {
        workshop: await workshop(db, viewer),
        instrument: {
          ...one,
          place: room ? `${room.venueName}, ${room.name}` : `${one.venueName}, ${one.roomName}`,
        },
        timeZone: one.timeZone,
        visit,
        remarks: answered.flatMap(({ remarkId, answer }) => {
          const remark = reported.find(({ id }) => id === remarkId);
          return remark ? [{ atMs: remark.atMs, from: remark.from, words: remark.words, answer }] : [];
        }),
        climate: await air(
          await climateSources(db, viewer, one),
          before ? fromMs : visit.atMs - usualDays * dayMs,
          visit.atMs,
          {
            wished: room ? { low: room.wishedLowPct, high: room.wishedHighPct } : null,
            visitsMs: all.map(({ atMs }) => atMs),
            timeZone: one.timeZone,
          },
        ),
        photos: await photosOf(visit),
        prices: query.prices !== 'no',
      });
      return { bytes, name: `${one.name} ${new Date(visit.atMs).toISOString().slice(0, 10)}.pdf` };
    },

    async seasonReport({ params, query }) {
      const venue = (await venues(db, viewer)).find(({ id }) => id === params.id);
      if (!venue) throw new NotFound('id', 'id: no such venue');
      const toMs = query.to ?? now();
      const fromMs = query.from ?? toMs - usualDays * dayMs;
      if (fromMs >= toMs) throw new BadRequest([{ field: 'from', sentence: 'from: must be before to' }]);
      if (toMs - fromMs > 5 * 366 * dayMs)
        throw new BadRequest([{ field: 'from', sentence: 'from: at most five years before to' }]);
      const here = (await instruments(db, viewer)).filter((one) => one.venueId === venue.id);
      const [looks, stands] = [await conditions(db, viewer), await standings(db, viewer)];
      const visits = [];
      for (const one of here) {
        for (const visit of await visitsOf(db, viewer, one.id)) {
          if (visit.atMs < fromMs || visit.atMs > toMs) continue;
          const findings = visit.findings.filter((finding) => finding.conditionClass > 0).length;
          const { atMs, minutes } = visit;
          visits.push({
            atMs,
            name: `${one.name}, ${one.roomName}`,
            tuned: isTuning(visit),
            findings,
            minutes,
          });
        }
      }
      const pages = [];
      for (const room of (await rooms(db, viewer)).filter((one) => one.venueId === venue.id)) {
        const sources = { room: await sensorsAt(db, viewer, { roomId: room.id }), inside: [] };
        const climate = await air(sources, fromMs, toMs, {
          wished: { low: room.wishedLowPct, high: room.wishedHighPct },
          visitsMs: [],
          timeZone: venue.timeZone,
        });
        pages.push({ name: room.name, climate });
      }
      const bytes = await pdf('season', {
        workshop: await workshop(db, viewer),
        venue: venue.name,
        timeZone: venue.timeZone,
        fromMs,
        toMs,
        rooms: pages,
        instruments: here.map((one) => {
          const seen = looks.get(one.id) ?? [];
          const classes = classesOf(seen);
          const stand = stands.get(one.id);
          const priority = priorityOf(one.use, classes, climateRisk(stand?.boardClass ?? null, seen));
          return {
            name: one.name,
            room: one.roomName,
            advice: stand?.advice.sentence ?? '',
            fleet: { classes, priority },
          };
        }),
        visits: visits.toSorted((a, b) => a.atMs - b.atMs),
      });
      return { bytes, name: `${venue.name} season.pdf` };
    },

    async labels({ query, origin }) {
      const all = await instruments(db, viewer);
      const wanted = query.venue === undefined ? all : all.filter((one) => one.venueId === query.venue);
      const bytes = await pdf('labels', {
        sheet: query.sheet ?? 'a4-24',
        skip: Number(query.skip ?? '0'),
        labels: wanted.map((one) => ({
          address: `${origin}/instruments/${one.id}/sheet`,
          name: one.name,
          place: `${one.venueName}, ${one.roomName}`,
        })),
      });
      return { bytes, name: 'labels.pdf' };
    },

    async blankSheet({ query }) {
      return { bytes: await pdf('blank', { kind: query.kind }), name: `visit sheet ${query.kind}.pdf` };
    },

    async inventoryCsv() {
      const [all, looks, stands] = [
        await instruments(db, viewer),
        await conditions(db, viewer),
        await standings(db, viewer),
      ];
      const bytes = inventoryCsv(
        all.map((one) => {
          const seen = looks.get(one.id) ?? [];
          const classes = classesOf(seen);
          const risk = climateRisk(stands.get(one.id)?.boardClass ?? null, seen);
          return {
            instrument: one,
            fleet: {
              classes,
              climateRisk: risk,
              priority: priorityOf(one.use, classes, risk),
              inspectedMs: seen.length === 0 ? null : Math.max(...seen.map((look) => look.atMs)),
            },
          };
        }),
      );
      return { bytes, name: 'inventory.csv' };
    },
  };
}
