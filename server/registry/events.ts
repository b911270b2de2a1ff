/** Concerts and the like: when, and which pianos must be fit. */
import * as z from 'zod/mini';
import { type Event, uses } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { mustBeKnown } from './known.ts';
import { NotFound, seenBy, type Viewer } from './viewer.ts';

const ids = z.array(z.string());

export async function eventsOf(
  db: Database,
  viewer: Viewer,
  which: { readonly fromMs: number; readonly instrumentId?: string },
): Promise<Event[]> {
  const rows = await db
    .selectFrom('event')
    .$call(seenBy(viewer, 'event'))
    .select(['id', 'venue_id as venueId', 'name', 'start_ms as startMs', 'instrument_ids', 'required'])
    .where('start_ms', '>=', which.fromMs)
    .orderBy('start_ms')
    .execute();
  return rows
    .map(({ instrument_ids, ...event }) => ({
      ...event,
      instrumentIds: ids.parse(JSON.parse(instrument_ids)),
      required: uses.find((one) => one === event.required) ?? null,
    }))
    .filter((event) => !which.instrumentId || event.instrumentIds.includes(which.instrumentId));
}

/**
 * @returns the pianos it concerns, or concerned until now
 * @throws NotFound when the venue or an instrument is not the viewer's.
 */
export async function putEvent(db: Database, viewer: Viewer, event: Event): Promise<readonly string[]> {
  return db.transaction().execute(async (trx) => {
    const kept = await trx
      .selectFrom('event')
      .select(['organisation_id', 'instrument_ids'])
      .where('id', '=', event.id)
      .executeTakeFirst();
    if (kept && kept.organisation_id !== viewer.organisationId) throw new NotFound('id', 'id: no such event');
    await mustBeKnown(trx, viewer, 'venue', event.venueId);
    const found = await trx
      .selectFrom('instrument')
      .$call(seenBy(viewer, 'instrument'))
      .select('id')
      .where('id', 'in', event.instrumentIds)
      .execute();
    if (found.length < new Set(event.instrumentIds).size) {
      throw new NotFound('instrumentIds', 'instrumentIds: no such instrument');
    }
    const row = {
      venue_id: event.venueId,
      name: event.name,
      start_ms: event.startMs,
      instrument_ids: JSON.stringify(event.instrumentIds),
      required: event.required ?? null,
    };
    await trx
      .insertInto('event')
      .values({ id: event.id, organisation_id: viewer.organisationId, ...row })
      .onConflict((conflict) => conflict.column('id').doUpdateSet(row))
      .execute();
    const before = kept ? ids.parse(JSON.parse(kept.instrument_ids)) : [];
    return [...new Set([...before, ...event.instrumentIds])];
  });
}

/** @returns the pianos it concerned. @throws NotFound when it is not the viewer's */
export async function removeEvent(db: Database, viewer: Viewer, id: string): Promise<readonly string[]> {
  const [gone] = await db
    .deleteFrom('event')
    .where('organisation_id', '=', viewer.organisationId)
    .where('id', '=', id)
    .returning('instrument_ids')
    .execute();
  if (!gone) throw new NotFound('id', 'id: no such event');
  return ids.parse(JSON.parse(gone.instrument_ids));
}
