/** Routes of the venue's face: rooms today, its task link, what was ticked. */
import * as z from 'zod/mini';
import { eventAhead, venueWeather } from './events.ts';
import { id } from './quantities.ts';
import { careAnswer, roomDetail, roomToday, taskLink, venueTask } from './rooms.ts';

const byId = z.object({ id });

export const roomRoutes = {
  roomsToday: {
    method: 'get',
    path: '/api/rooms-today',
    summary: 'All rooms with what to do today, their last month and their year',
    answer: z.array(roomToday),
    asks: 'person',
  },
  roomDetail: {
    method: 'get',
    path: '/api/rooms/{id}',
    summary: 'One room: its last day, what its windows bear, how much water it takes, what its past was',
    params: byId,
    answer: roomDetail,
    asks: 'person',
  },
  venueWeather: {
    method: 'get',
    path: '/api/venues/{id}/weather',
    summary: 'The coming days as they were said, and what a frost in them would do',
    params: byId,
    answer: venueWeather,
    asks: 'person',
  },
  eventsAhead: {
    method: 'get',
    path: '/api/events-ahead',
    summary: 'Coming events with the odds that their pianos hold, and on what conditions',
    answer: z.array(eventAhead),
    asks: 'person',
  },
  taskLinks: {
    method: 'get',
    path: '/api/task-links',
    summary: 'Which venues have a task link, and when it was last used',
    answer: z.array(taskLink),
    asks: 'person',
  },
  putTaskLink: {
    method: 'put',
    path: '/api/venues/{id}/task-link',
    summary: 'Make a new task link for a venue (the old one opens nothing any more), or take it away',
    params: byId,
    body: z.object({ want: z.enum(['new', 'none']) }),
    /** Told this once: the secret is not kept. `url` is null where nobody said where people reach this service. */
    answer: z.object({ path: z.nullable(z.string()), url: z.nullable(z.string()) }),
    asks: 'person',
  },
  venueTasks: {
    method: 'get',
    path: '/api/venue-tasks',
    summary: 'What was ticked at the venues, newest first',
    answer: z.array(venueTask),
    asks: 'person',
  },
  careAnswers: {
    method: 'get',
    path: '/api/care-answers',
    summary: 'What clients answered on their care pages in the last weeks, newest first',
    answer: z.array(careAnswer),
    asks: 'person',
  },
  seeTask: {
    method: 'put',
    path: '/api/venue-tasks/{id}/seen',
    summary: 'Mark a ticked task as seen',
    params: byId,
    body: z.object({}),
    answer: venueTask,
    asks: 'person',
  },
} as const;
