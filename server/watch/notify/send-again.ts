/** Tries a message once more at somebody's wish: the same message under the same id, so that it cannot arrive as two. */
import type { Database } from '../../db/database.ts';
import { people } from '../../registry/people.ts';
import { Contradiction, NotFound, seenBy, type Viewer } from '../../registry/viewer.ts';
import { logDelivery } from './outgoing.ts';

/**
 * It goes to the address the person has now: the one before may be why it did not arrive.
 * @throws NotFound; Contradiction where it was sent, is being sent, or its person wants no more messages
 */
export async function sendAgain(db: Database, viewer: Viewer, id: string, nowMs: number): Promise<void> {
  await db.transaction().execute(async (trx) => {
    const row = await trx
      .selectFrom('outgoing')
      .$call(seenBy(viewer, 'outgoing'))
      .select(['id', 'state', 'address', 'person_id'])
      .where('id', '=', id)
      .executeTakeFirst();
    if (!row) throw new NotFound('id', 'id: no such message');
    if (row.state === 'sent' || row.state === 'sending')
      throw new Contradiction('id', `id: this message ${row.state === 'sent' ? 'was' : 'is being'} sent`);
    const person = (await people(trx, viewer)).find((one) => one.id === row.person_id);
    if (person && (person.unsubscribedMs !== null || person.body.email === null))
      throw new Contradiction('id', `id: ${person.body.name} is sent nothing any more`);
    await trx
      .updateTable('outgoing')
      .set({ state: 'waiting', next_ms: nowMs, address: person?.body.email ?? row.address })
      .where('id', '=', id)
      .execute();
    const of = { organisationId: viewer.organisationId, outgoingId: id, personId: row.person_id };
    await logDelivery(trx, of, 'again', 'tried again because somebody asked for it', nowMs);
  });
}
