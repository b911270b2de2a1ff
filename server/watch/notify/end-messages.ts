/** Somebody wants no more messages: none begins, and none that still waits goes out, from this moment on. */
import type { Database } from '../../db/database.ts';
import { type PersonRow, unsubscribe } from '../../registry/people.ts';
import { logDelivery } from './outgoing.ts';

export async function endMessages(db: Database, person: PersonRow, nowMs: number): Promise<void> {
  await db.transaction().execute(async (trx) => {
    await unsubscribe(trx, person.id, nowMs);
    const unsent = await trx
      .deleteFrom('outgoing')
      .where('organisation_id', '=', person.organisationId)
      .where('person_id', '=', person.id)
      .where('state', 'in', ['waiting', 'refused', 'stuck'])
      .returning('id')
      .execute();
    const because = `quiet because ${person.body.name} wants no more messages`;
    for (const { id } of unsent) {
      const of = { organisationId: person.organisationId, outgoingId: id, personId: person.id };
      await logDelivery(trx, of, 'quiet', because, nowMs);
    }
  });
}
