/** Messages that were set aside, as they came: to be looked at, and to try a profile on. */
import type { GatewayNow, SetAsideMessage } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { profileOf } from './gateways.ts';
import { isSetAsideOf } from './replay.ts';
import { NotFound, seenBy, type Viewer } from './viewer.ts';

const shownAtOnce = 50;
const shownBytes = 20_000;
/** Characters that no text holds. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
const binary = /[\u0000-\u0008\u000e-\u001f]/;

function textOf(payload: Uint8Array): { text: string | null; whole: boolean } {
  const whole = payload.length <= shownBytes;
  try {
    // A letter of several bytes may be cut in two at the end.
    const utf8 = new TextDecoder('utf-8', { fatal: true });
    const text = utf8.decode(payload.subarray(0, shownBytes), { stream: !whole });
    return { text: binary.test(text) ? null : text, whole };
  } catch {
    return { text: null, whole };
  }
}

const gatewayRows = (db: Database, viewer: Viewer) =>
  db
    .selectFrom('gateway')
    .$call(seenBy(viewer, 'gateway'))
    .select(['id', 'name', 'profile', 'organisation_id as organisation'])
    .orderBy('name')
    .execute();

/** All gateways of the viewer, with how each is read and how much of it is set aside. */
export async function gatewaysNow(db: Database, viewer: Viewer): Promise<GatewayNow[]> {
  const now: GatewayNow[] = [];
  for (const row of await gatewayRows(db, viewer)) {
    const { count } = await db
      .selectFrom('refused')
      .select(({ fn }) => fn.countAll<number>().as('count'))
      .where(isSetAsideOf(row))
      .executeTakeFirstOrThrow();
    const profile = row.profile === null ? { kind: 'senml' as const } : profileOf(row.profile);
    now.push({ name: row.name, profile, setAside: count });
  }
  return now;
}

/** The newest first; at most fifty, each with its beginning. */
export async function setAsideMessages(
  db: Database,
  viewer: Viewer,
  { gateway, reason }: { readonly gateway?: string | undefined; readonly reason?: string | undefined },
): Promise<SetAsideMessage[]> {
  const known = await gatewayRows(db, viewer);
  const asked = known.find(({ name }) => name === gateway);
  if (gateway !== undefined && !asked) return [];
  let query = db.selectFrom('refused').selectAll();
  query = asked
    ? query.where(isSetAsideOf(asked))
    : // Those of strangers no organisation could be told for are shown to whoever runs the service.
      query.where((eb) =>
        eb.or([eb('organisation_id', '=', viewer.organisationId), eb('organisation_id', 'is', null)]),
      );
  if (reason !== undefined) query = query.where('reason', '=', reason);
  const rows = await query.orderBy('id', 'desc').limit(shownAtOnce).execute();
  return rows.map((row) => ({
    id: row.id,
    gateway: asked?.name ?? known.find(({ id }) => id === row.gateway)?.name ?? null,
    receivedMs: row.received_ms,
    topic: row.topic,
    reason: row.reason,
    sentence: row.sentence,
    bytes: row.payload.length,
    ...textOf(row.payload),
  }));
}

/** @throws NotFound where it was read meanwhile, or fell out of what is kept. */
export async function setAsideMessage(
  db: Database,
  viewer: Viewer,
  id: number,
): Promise<{ topic: string; payload: Uint8Array; receivedMs: number }> {
  const row = await db
    .selectFrom('refused')
    .select(['topic', 'payload', 'received_ms'])
    .where('id', '=', id)
    .where((eb) =>
      eb.or([eb('organisation_id', '=', viewer.organisationId), eb('organisation_id', 'is', null)]),
    )
    .executeTakeFirst();
  if (!row) throw new NotFound('setAsideId', 'setAsideId: this message is no longer set aside');
  return { topic: row.topic, payload: row.payload, receivedMs: row.received_ms };
}
