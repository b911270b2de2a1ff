/** An inventory from CSV: looked at first, kept then; the same file under one id makes nothing twice. */
import { createHash } from 'node:crypto';
import { isDeepStrictEqual } from 'node:util';
import type { InventoryRow } from '../contract/index.ts';
import { instruments, type PlacedInstrument, putInstrument } from '../registry/instruments.ts';
import { putRoom, putVenue, rooms, venues } from '../registry/venues.ts';
import { type ReadRow, readInventory } from '../reports/inventory-in.ts';
import type { AppDeps, Handlers } from './handlers.ts';

/** A UUID made of words, so that the same import makes the same ids (version 8, RFC 9562). */
function idFrom(...words: readonly string[]): string {
  const hex = createHash('sha256').update(words.join('\n')).digest('hex').slice(0, 32).split('');
  hex[12] = '8';
  hex[16] = ((Number.parseInt(hex[16] ?? '0', 16) & 0x3) | 0x8).toString(16);
  const all = hex.join('');
  return [all.slice(0, 8), all.slice(8, 12), all.slice(12, 16), all.slice(16, 20), all.slice(20)].join('-');
}

/** How rooms from a file begin; both can be changed afterwards. */
const usualBand = { wishedLowPct: 40, wishedHighPct: 55 };
const same = (a: string, b: string): boolean => a.toLowerCase() === b.toLowerCase();

export function inventoryHandlers(deps: AppDeps): Pick<Handlers, 'previewInventory' | 'putInventory'> {
  const { db, viewer, watch } = deps;

  function standsFor(row: ReadRow, all: readonly PlacedInstrument[]): PlacedInstrument | null {
    const byId = row.id === null ? undefined : all.find((one) => one.id === row.id);
    const byPlace = (one: PlacedInstrument) =>
      same(one.venueName, row.venue) && same(one.roomName, row.room) && same(one.name, row.name);
    return byId ?? all.find(byPlace) ?? null;
  }

  function doesWhat(row: ReadRow, kept: PlacedInstrument | null): InventoryRow['does'] {
    if (!row.instrument) return 'faulty';
    if (!kept) return 'new';
    const { id: _id, roomId: _roomId, roomName, venueId: _v, venueName, timeZone: _t, ...body } = kept;
    const stays = same(roomName, row.room) && same(venueName, row.venue);
    return stays && isDeepStrictEqual(body, row.instrument) ? 'same' : 'changes';
  }

  return {
    async previewInventory({ body }) {
      const [all, allVenues, allRooms] = await Promise.all([
        instruments(db, viewer),
        venues(db, viewer),
        rooms(db, viewer),
      ]);
      const read = readInventory(body.csv, body.timeZone);
      const good = read.rows.filter((row) => row.instrument !== null);
      const unique = (list: readonly string[]) => [
        ...new Map(list.map((one) => [one.toLowerCase(), one])).values(),
      ];
      return {
        faults: [...read.faults],
        rows: read.rows.map((row) => ({
          line: row.line,
          name: row.name,
          place: [row.venue, row.room].filter(Boolean).join(' · '),
          does: doesWhat(row, standsFor(row, all)),
          faults: [...row.faults],
        })),
        newVenues: unique(
          good.map((row) => row.venue).filter((name) => !allVenues.some((one) => same(one.name, name))),
        ),
        newRooms: unique(
          good
            .filter(
              (row) => !allRooms.some((one) => same(one.venueName, row.venue) && same(one.name, row.room)),
            )
            .map((row) => `${row.venue} · ${row.room}`),
        ),
      };
    },

    async putInventory({ params, body }) {
      const read = readInventory(body.csv, body.timeZone);
      const touched: string[] = [];
      const tally = { made: 0, changed: 0, left: 0 };
      await db.transaction().execute(async (trx) => {
        const [all, allVenues, allRooms] = [
          await instruments(trx, viewer),
          await venues(trx, viewer),
          await rooms(trx, viewer),
        ];
        for (const row of read.rows) {
          const kept = standsFor(row, all);
          const does = doesWhat(row, kept);
          if (!row.instrument || does === 'same' || does === 'faulty') {
            tally.left += 1;
            continue;
          }
          let venue = allVenues.find((one) => same(one.name, row.venue));
          if (!venue) {
            const id = idFrom(params.id, 'venue', row.venue.toLowerCase());
            venue = await putVenue(trx, viewer, { id, name: row.venue, timeZone: row.timeZone });
            allVenues.push(venue);
          }
          const { id: venueId, name: venueName } = venue;
          let room = allRooms.find((one) => one.venueId === venueId && same(one.name, row.room));
          if (!room) {
            const id = idFrom(params.id, 'room', venueId, row.room.toLowerCase());
            const made = {
              id,
              venueId,
              name: row.room,
              volumeM3: null,
              airChangesPerHour: null,
              ...usualBand,
            };
            room = { ...(await putRoom(trx, viewer, made)), venueName };
            allRooms.push(room);
          }
          const id = kept?.id ?? row.id ?? idFrom(params.id, 'instrument', String(row.line));
          await putInstrument(trx, viewer, { ...row.instrument, id, roomId: room.id });
          tally[kept ? 'changed' : 'made'] += 1;
          touched.push(id);
        }
      });
      if (touched.length > 0) await watch.reconsider(viewer, touched, 0);
      return tally;
    },
  };
}
