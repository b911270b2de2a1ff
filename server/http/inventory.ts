/** An inventory from CSV: looked at first, kept then; the same file under one id makes nothing twice. */
import { createHash } from 'node:crypto';
import { isDeepStrictEqual } from 'node:util';
import type { InventoryRow } from '../contract/index.ts';
import { instruments, type PlacedInstrument, putInstrument } from '../registry/instruments.ts';
import { noteMove } from '../registry/moves.ts';
import { putRoom, putVenue, rooms, venues } from '../registry/venues.ts';
import { type Named, type ReadRow, readInventory } from '../reports/inventory-in.ts';
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
  const { db, viewer, watch, now } = deps;

  /** The instrument a row means: by its id, or by its name where it stands. */
  function finder(all: readonly PlacedInstrument[]): (row: Named) => PlacedInstrument | null {
    const place = (...names: readonly string[]) => names.join('\n').toLowerCase();
    const byId = new Map(all.map((one) => [one.id, one]));
    const byPlace = new Map(all.map((one) => [place(one.venueName, one.roomName, one.name), one]));
    return ({ id, venue, room, name }) =>
      (id === null ? undefined : byId.get(id)) ?? byPlace.get(place(venue, room, name)) ?? null;
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
      const standsFor = finder(all);
      const read = readInventory(body.csv, body.timeZone, standsFor);
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
          does: doesWhat(row, standsFor(row)),
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
      const touched: string[] = [];
      const tally = { made: 0, changed: 0, left: 0 };
      await db.transaction().execute(async (trx) => {
        const [all, allVenues, allRooms] = [
          await instruments(trx, viewer),
          await venues(trx, viewer),
          await rooms(trx, viewer),
        ];
        const standsFor = finder(all);
        for (const row of readInventory(body.csv, body.timeZone, standsFor).rows) {
          const kept = standsFor(row);
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
          await putInstrument(trx, viewer, { ...row.instrument, id, roomId: kept?.roomId ?? room.id });
          // The file tells where it stands today, not where it stood: its past keeps the air it was in.
          if (kept && kept.roomId !== room.id) {
            const move = {
              id: idFrom(params.id, 'move', id),
              instrumentId: id,
              atMs: now(),
              roomId: room.id,
            };
            await noteMove(trx, viewer, { ...move, words: 'by the inventory' });
          }
          tally[kept ? 'changed' : 'made'] += 1;
          touched.push(id);
        }
      });
      if (touched.length > 0) await watch.reconsider(viewer, touched, 0);
      return tally;
    },
  };
}
