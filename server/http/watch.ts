/** The watch over HTTP: notices and what people do about them, calls and rounds, settings, quality. */
import type { watchRoutes } from '../contract/index.ts';
import { bestDatesOf } from '../drift/what-if.ts';
import { eventsOf, putEvent, removeEvent } from '../registry/events.ts';
import { humidityControls, putHumidityControl } from '../registry/humidity-controls.ts';
import { instrument, instruments } from '../registry/instruments.ts';
import { venues } from '../registry/venues.ts';
import { NotFound } from '../registry/viewer.ts';
import { chooseCall, chooseCalls } from '../watch/call-choices.ts';
import { putWeather } from '../watch/evaluate-venues.ts';
import { keepDates } from '../watch/kept-dates.ts';
import { acknowledge, historyOf, snooze } from '../watch/notice-acts.ts';
import { watchQuality } from '../watch/quality-store.ts';
import { roundsPage } from '../watch/rounds-page.ts';
import { putSettings, settingsAt } from '../watch/settings.ts';
import { yearPlanPage } from '../watch/year-plan-page.ts';
import type { AppDeps, Handlers } from './handlers.ts';
import type { PeopleRoutes } from './people.ts';

type WatchRoutes = Exclude<keyof typeof watchRoutes, PeopleRoutes>;

/** Hours a month one technician has at the instruments, where nobody said otherwise (proposal). */
const usualHours = 80;

export function watchHandlers(deps: AppDeps): Pick<Handlers, WatchRoutes> {
  const { db, viewer, watch, thinking, now } = deps;
  const dates = keepDates(async (id, tunings) =>
    bestDatesOf(deps, viewer, thinking, await instrument(db, viewer, id), tunings, now()),
  );
  const reconsiderAll = async (ids?: readonly string[]) =>
    watch.reconsider(viewer, ids ?? (await instruments(db, viewer)).map((one) => one.id), null);

  return {
    async organisation() {
      const row = await db
        .selectFrom('organisation')
        .select(['id', 'name'])
        .where('id', '=', viewer.organisationId)
        .executeTakeFirst();
      if (!row) throw new NotFound('id', 'id: no such organisation');
      return row;
    },
    noticeHistory: ({ params }) => historyOf(db, viewer, params.id),
    acknowledgeNotice: ({ params, body }) => acknowledge(db, viewer, params.id, body, now()),
    snoozeNotice: ({ params, body }) => snooze(db, viewer, params.id, body, now()),
    watchQuality: ({ query }) => watchQuality(db, viewer, query.days ?? 365, now()),
    rounds: () => roundsPage(db, viewer, now()),
    yearPlan: ({ query }) => yearPlanPage(db, viewer, dates, query.hours ?? usualHours, now()),
    chooseCall: ({ params, body }) => chooseCall(db, viewer, params.id, body, now()),
    async chooseCalls({ body }) {
      await chooseCalls(db, viewer, body, now());
      return roundsPage(db, viewer, now());
    },
    settings: ({ params }) => settingsAt(db, viewer, params.scope, params.id),
    async putSettings({ params, body }) {
      await putSettings(db, viewer, params.scope, params.id, body.values);
      await reconsiderAll();
      return settingsAt(db, viewer, params.scope, params.id);
    },
    events: () => eventsOf(db, viewer, { fromMs: now() }),
    async putEvent({ params, body }) {
      const event = { ...body, id: params.id };
      await reconsiderAll(await putEvent(db, viewer, event));
      return event;
    },
    async removeEvent({ params }) {
      await reconsiderAll(await removeEvent(db, viewer, params.id));
      return eventsOf(db, viewer, { fromMs: now() });
    },
    humidityControls: ({ params }) => humidityControls(db, viewer, params.id),
    async putHumidityControl({ params, body }) {
      const control = await putHumidityControl(db, viewer, { ...body, id: params.id });
      await reconsiderAll([control.instrumentId]);
      return control;
    },
    async postWeather({ body }) {
      const venue = (await venues(db, viewer)).find((one) => one.id === body.venueId);
      if (!venue) throw new NotFound('venueId', 'venueId: no such venue');
      await putWeather(db, viewer, body.venueId, body.days, now());
      await watch.weatherCame(viewer, body.venueId);
      return { days: body.days.length };
    },
  };
}
