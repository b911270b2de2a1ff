/** Rates and words of the organisation, for estimates and reports. */
import type { Workshop } from '../contract/index.ts';
import { workshopBody } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';

/** Before anything is set: times only, and the organisation's own name. */
export async function workshop(db: Database, viewer: Viewer): Promise<Workshop> {
  const row = await db
    .selectFrom('workshop')
    .$call(seenBy(viewer, 'workshop'))
    .select('body')
    .executeTakeFirst();
  if (row) return workshopBody.parse(JSON.parse(row.body));
  return { heading: 'Piano technician', ratePerHourCents: null, currency: 'EUR', disclaimer: '' };
}

export async function putWorkshop(db: Database, viewer: Viewer, body: Workshop): Promise<Workshop> {
  const text = JSON.stringify(body);
  await db
    .insertInto('workshop')
    .values({ organisation_id: viewer.organisationId, body: text })
    .onConflict((conflict) => conflict.column('organisation_id').doUpdateSet({ body: text }))
    .execute();
  return body;
}
