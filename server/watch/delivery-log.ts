/** What went out, what is stuck, and why each was sent or was not: read for the page. */
import type { DeliveryLog, Message } from '../contract/index.ts';
import { message as messageSchema } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import type { Records } from '../db/schema.ts';
import { people } from '../registry/people.ts';
import { NotFound, seenBy, type Viewer } from '../registry/viewer.ts';
import { emailBody } from './notify/outgoing.ts';

const shownMessages = 200;

/** What did not arrive is shown however old it is; of the rest the newest. */
export async function deliveryLog(db: Database, viewer: Viewer): Promise<DeliveryLog> {
  const all = () => db.selectFrom('outgoing').$call(seenBy(viewer, 'outgoing')).selectAll();
  const amiss = await all()
    .where('state', 'in', ['stuck', 'refused', 'waiting'])
    .orderBy('made_ms', 'desc')
    .limit(shownMessages)
    .execute();
  const newest = await all().orderBy('made_ms', 'desc').limit(shownMessages).execute();
  const rows = new Map([...amiss, ...newest].map((row) => [row.id, row]));
  const names = new Map((await people(db, viewer)).map((one) => [one.id, one.body.name]));
  const log = await db
    .selectFrom('delivery')
    .$call(seenBy(viewer, 'delivery'))
    .select(['at_ms as atMs', 'kind', 'sentence', 'person_id'])
    .orderBy('seq', 'desc')
    .limit(shownMessages)
    .execute();
  return {
    messages: [...rows.values()].sort((a, b) => b.made_ms - a.made_ms).map(fromRow),
    log: log.map(({ person_id, ...one }) => ({
      ...one,
      to: person_id ? (names.get(person_id) ?? null) : null,
    })),
  };
}

/** @throws NotFound */
export async function messageById(db: Database, viewer: Viewer, id: string): Promise<Message> {
  const row = await db
    .selectFrom('outgoing')
    .$call(seenBy(viewer, 'outgoing'))
    .selectAll()
    .where('id', '=', id)
    .executeTakeFirst();
  if (!row) throw new NotFound('id', 'id: no such message');
  return fromRow(row);
}

function fromRow(row: Records['outgoing']): Message {
  const body = row.channel === 'email' ? emailBody.safeParse(JSON.parse(row.body)) : null;
  return messageSchema.parse({
    id: row.id,
    channel: row.channel,
    kind: row.kind,
    to: row.address,
    subject: body?.success ? body.data.subject : row.because,
    because: row.because,
    madeMs: row.made_ms,
    state: row.state,
    attempts: row.attempts,
    nextMs: row.state === 'waiting' ? row.next_ms : null,
    lastError: row.last_error,
  });
}
