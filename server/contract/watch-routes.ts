/** Routes of the watch: notices, calls and rounds, settings, people, messages, weather and events. */
import * as z from 'zod/mini';
import { event, eventBody, humidityControl, humidityControlBody, weatherBody } from './events.ts';
import {
  careSituations,
  careWordsBody,
  deliveryLog,
  person,
  personBody,
  webhook,
  webhookBody,
} from './people.ts';
import { id } from './quantities.ts';
import {
  callChoiceBody,
  callChoicesBody,
  noticeDone,
  noticeHistory,
  roundsPage,
  snoozeBody,
  watchQuality,
  yearPlan,
} from './rounds.ts';
import { scope, settingsBody, settingsPage } from './settings.ts';
import { call, notice } from './watch.ts';

const byId = z.object({ id });
const settingsPlace = z.object({ scope, id });
const numberInQuery = z.pipe(
  z.string().check(z.regex(/^\d+$/, 'must be a whole number')),
  z.transform(Number),
);
const organisation = z.object({ id, name: z.string() });

export const watchRoutes = {
  organisation: {
    method: 'get',
    path: '/api/organisation',
    summary: 'The organisation whose records these are',
    answer: organisation,
    asks: 'person',
  },
  noticeHistory: {
    method: 'get',
    path: '/api/notices/{id}/history',
    summary: 'What happened to a notice, in order',
    params: byId,
    answer: noticeHistory,
    asks: 'person',
  },
  acknowledgeNotice: {
    method: 'put',
    path: '/api/notices/{id}/acknowledged',
    summary: 'Acknowledge this episode of a notice; a fresh one starts unacknowledged',
    params: byId,
    body: noticeDone,
    answer: notice,
    asks: 'person',
  },
  snoozeNotice: {
    method: 'put',
    path: '/api/notices/{id}/snoozed',
    summary: 'Leave a notice alone until a time; what comes then is told anew',
    params: byId,
    body: snoozeBody,
    answer: notice,
    asks: 'person',
  },
  watchQuality: {
    method: 'get',
    path: '/api/watch-quality',
    summary: 'How much the watch says, how often it repeats itself, and whether it led to work',
    query: z.object({ days: z.optional(z.pipe(numberInQuery, z.int().check(z.gte(1), z.lte(1000)))) }),
    answer: watchQuality,
    asks: 'person',
  },
  rounds: {
    method: 'get',
    path: '/api/rounds',
    summary: 'Calls gathered into trips, what is better left, what was done',
    answer: roundsPage,
    asks: 'person',
  },
  yearPlan: {
    method: 'get',
    path: '/api/year-plan',
    summary: 'Hours each month of the coming year asks for, by venue, against the hours there are',
    query: z.object({ hours: z.optional(z.pipe(numberInQuery, z.int().check(z.gte(0), z.lte(744)))) }),
    answer: yearPlan,
    asks: 'person',
  },
  chooseCall: {
    method: 'put',
    path: '/api/calls/{id}/choice',
    summary: 'Accept, move, give to a person, or decline a call with a reason',
    params: byId,
    body: callChoiceBody,
    answer: call,
    asks: 'person',
  },
  chooseCalls: {
    method: 'put',
    path: '/api/calls/choices',
    summary: 'Decide on several calls at once, all or none, or take decisions back',
    body: callChoicesBody,
    answer: roundsPage,
    asks: 'person',
  },
  settings: {
    method: 'get',
    path: '/api/settings/{scope}/{id}',
    summary:
      'Every setting as it holds at an organisation, venue, room or instrument, and where it comes from',
    params: settingsPlace,
    answer: settingsPage,
    asks: 'person',
  },
  putSettings: {
    method: 'put',
    path: '/api/settings/{scope}/{id}',
    summary: 'Set values here, or take them back with null',
    params: settingsPlace,
    body: settingsBody,
    answer: settingsPage,
    asks: 'person',
  },
  people: {
    method: 'get',
    path: '/api/people',
    summary: 'Who is told what, and when',
    answer: z.array(person),
    asks: 'person',
  },
  putPerson: {
    method: 'put',
    path: '/api/people/{id}',
    summary: 'Create or change a person',
    params: byId,
    body: personBody,
    answer: person,
    asks: 'person',
  },
  webhooks: {
    method: 'get',
    path: '/api/webhooks',
    summary: 'Where notices are posted',
    answer: z.array(webhook),
    asks: 'person',
  },
  putWebhook: {
    method: 'put',
    path: '/api/webhooks/{id}',
    summary: 'Create or change a webhook; its secret is never told again',
    params: byId,
    body: webhookBody,
    answer: webhook,
    asks: 'person',
  },
  messages: {
    method: 'get',
    path: '/api/messages',
    summary: 'What went out or is stuck, and why; what was not sent, and why not',
    answer: deliveryLog,
    asks: 'person',
  },
  putCareWords: {
    method: 'put',
    path: '/api/care-words/{situation}',
    summary: 'The words of care notes for one situation',
    params: z.object({ situation: z.enum(careSituations) }),
    body: careWordsBody,
    answer: careWordsBody,
    asks: 'person',
  },
  events: {
    method: 'get',
    path: '/api/events',
    summary: 'Coming events, soonest first',
    answer: z.array(event),
    asks: 'person',
  },
  putEvent: {
    method: 'put',
    path: '/api/events/{id}',
    summary: 'Create or change an event and the pianos it needs',
    params: byId,
    body: eventBody,
    answer: event,
    asks: 'person',
  },
  putHumidityControl: {
    method: 'put',
    path: '/api/humidity-controls/{id}',
    summary: 'Say what humidity control an instrument has, since when, set to what',
    params: byId,
    body: humidityControlBody,
    answer: humidityControl,
    asks: 'person',
  },
  postWeather: {
    method: 'post',
    path: '/api/weather',
    summary: 'The coming days at a venue: low, high and dew point',
    body: weatherBody,
    answer: z.object({ days: z.int() }),
    asks: 'person',
  },
} as const;
