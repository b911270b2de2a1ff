/** People, webhooks, what went out to them and why, and the words of care notes. */
import { careSituations, type Person, type watchRoutes } from '../contract/index.ts';
import { type PersonRow, people, putPerson, renewCalendar } from '../registry/people.ts';
import { putWebhook, removeWebhook, webhooks } from '../registry/webhooks.ts';
import { deliveryLog, messageById } from '../watch/delivery-log.ts';
import { careWordsOf, putCareWords } from '../watch/notify/care-words.ts';
import { sendAgain } from '../watch/notify/send-again.ts';
import type { AppDeps, Handlers } from './handlers.ts';

export type PeopleRoutes = Extract<
  keyof typeof watchRoutes,
  | 'people'
  | 'putPerson'
  | 'renewCalendar'
  | 'webhooks'
  | 'putWebhook'
  | 'removeWebhook'
  | 'messages'
  | 'sendAgain'
  | 'careWords'
  | 'putCareWords'
>;

const shown = (row: PersonRow): Person => ({
  ...row.body,
  id: row.id,
  unsubscribedMs: row.unsubscribedMs,
  calendarMadeMs: row.calendarMadeMs,
});

export function peopleHandlers({ db, viewer, publicUrl, now }: AppDeps): Pick<Handlers, PeopleRoutes> {
  return {
    people: async () => (await people(db, viewer)).map(shown),
    putPerson: async ({ params, body }) => shown(await putPerson(db, viewer, params.id, body, now())),
    async renewCalendar({ params }) {
      const path = `/calendar/${await renewCalendar(db, viewer, params.id, now())}.ics`;
      return { path, url: publicUrl && publicUrl + path };
    },
    webhooks: () => webhooks(db, viewer),
    putWebhook: ({ params, body }) => putWebhook(db, viewer, params.id, body, now()),
    async removeWebhook({ params }) {
      await removeWebhook(db, viewer, params.id);
      return webhooks(db, viewer);
    },
    messages: () => deliveryLog(db, viewer),
    async sendAgain({ params }) {
      await sendAgain(db, viewer, params.id, now());
      return messageById(db, viewer, params.id);
    },
    careWords: () => Promise.all(careSituations.map((situation) => careWordsOf(db, viewer, situation))),
    async putCareWords({ params, body }) {
      await putCareWords(db, viewer, params.situation, body);
      return body;
    },
  };
}
