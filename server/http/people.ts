/** People, webhooks, what went out to them and why, and the words of care notes. */
import type { Person } from '../contract/index.ts';
import { message as messageSchema } from '../contract/index.ts';
import { type PersonRow, people, putPerson } from '../registry/people.ts';
import { NotFound, seenBy } from '../registry/viewer.ts';
import { signLink } from '../watch/notify/links.ts';
import { emailBody } from '../watch/notify/outgoing.ts';
import type { AppDeps, Handlers } from './handlers.ts';

type PeopleRoutes = 'people' | 'putPerson' | 'webhooks' | 'putWebhook' | 'messages' | 'putCareWords';
const shownMessages = 200;

const shown = (row: PersonRow): Person => ({
  ...row.body,
  id: row.id,
  unsubscribedMs: row.unsubscribedMs,
  calendarPath: `/calendar/${signLink(row, 'calendar')}.ics`,
});

export function peopleHandlers({ db, viewer, now }: AppDeps): Pick<Handlers, PeopleRoutes> {
  return {
    people: async () => (await people(db, viewer)).map(shown),
    putPerson: async ({ params, body }) => shown(await putPerson(db, viewer, params.id, body, now())),
    webhooks: () =>
      db
        .selectFrom('webhook')
        .$call(seenBy(viewer, 'webhook'))
        .select(['id', 'url'])
        .orderBy('created_ms')
        .execute(),
    async putWebhook({ params, body }) {
      const kept = await db
        .selectFrom('webhook')
        .select('organisation_id')
        .where('id', '=', params.id)
        .executeTakeFirst();
      if (kept && kept.organisation_id !== viewer.organisationId)
        throw new NotFound('id', 'id: no such webhook');
      const last = await db
        .selectFrom('notice_event')
        .select(({ fn }) => fn.max('seq').as('seq'))
        .executeTakeFirst();
      await db
        .insertInto('webhook')
        .values({
          id: params.id,
          organisation_id: viewer.organisationId,
          ...body,
          told_seq: last?.seq ?? 0,
          created_ms: now(),
        })
        .onConflict((conflict) => conflict.column('id').doUpdateSet(body))
        .execute();
      return { id: params.id, url: body.url };
    },
    async messages() {
      const rows = await db
        .selectFrom('outgoing')
        .$call(seenBy(viewer, 'outgoing'))
        .selectAll()
        .orderBy('made_ms', 'desc')
        .limit(shownMessages)
        .execute();
      const names = new Map((await people(db, viewer)).map((one) => [one.id, one.body.name]));
      const log = await db
        .selectFrom('delivery')
        .$call(seenBy(viewer, 'delivery'))
        .select(['at_ms as atMs', 'kind', 'sentence', 'person_id'])
        .orderBy('seq', 'desc')
        .limit(shownMessages)
        .execute();
      return {
        messages: rows.map((row) => {
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
        }),
        log: log.map(({ person_id, ...one }) => ({
          ...one,
          to: person_id ? (names.get(person_id) ?? null) : null,
        })),
      };
    },
    async putCareWords({ params, body }) {
      const row = { subject: body.subject, words: body.words };
      await db
        .insertInto('care_words')
        .values({ organisation_id: viewer.organisationId, situation: params.situation, ...row })
        .onConflict((conflict) => conflict.columns(['organisation_id', 'situation']).doUpdateSet(row))
        .execute();
      return body;
    },
  };
}
