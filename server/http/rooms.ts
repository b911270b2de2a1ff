/** Rooms as those who look after them see them, the venue's task link, and what was ticked by it. */

import { careAnswersOf } from '../watch/notify/care-reply.ts';
import { roomDetail } from '../watch/venue-detail.ts';
import { eventsAhead } from '../watch/venue-events.ts';
import { RoomYears, roomsToday } from '../watch/venue-rooms.ts';
import { endTaskLink, newTaskLink, seeTask, taskLinks, venueTasks } from '../watch/venue-tasks.ts';
import { venueWeather } from '../watch/venue-weather.ts';
import type { AppDeps, Handlers } from './handlers.ts';

type RoomRoutes =
  | 'roomsToday'
  | 'roomDetail'
  | 'venueWeather'
  | 'eventsAhead'
  | 'taskLinks'
  | 'putTaskLink'
  | 'careAnswers'
  | 'venueTasks'
  | 'seeTask';

export function roomHandlers(deps: AppDeps): Pick<Handlers, RoomRoutes> {
  const { db, store, amendments, viewer, publicUrl, now } = deps;
  const years = new RoomYears();
  return {
    roomsToday: () => roomsToday({ db, store }, viewer, years, null, now()),
    roomDetail: ({ params }) => roomDetail({ db, store, amendments }, viewer, years, params.id, now()),
    venueWeather: ({ params }) => venueWeather(db, viewer, params.id, now()),
    eventsAhead: () => eventsAhead(db, viewer, now()),
    taskLinks: () => taskLinks(db, viewer),
    async putTaskLink({ params, body }) {
      if (body.want === 'none') {
        await endTaskLink(db, viewer, params.id);
        return { path: null, url: null };
      }
      const path = `/tasks/${await newTaskLink(db, viewer, params.id, now())}`;
      return { path, url: publicUrl && publicUrl + path };
    },
    careAnswers: () => careAnswersOf(db, viewer, now()),
    venueTasks: () => venueTasks(db, viewer),
    seeTask: ({ params }) => seeTask(db, viewer, params.id, now()),
  };
}
