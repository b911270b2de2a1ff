/**
 * Every route of the HTTP interface: method, path, what it takes and gives. The server registers handlers by these
 * names, the OpenAPI document is generated from them, and the browser calls them; nothing is written twice.
 */
import * as z from 'zod/mini';
import { driftRoutes } from './drift-routes.ts';
import { id, timeMs } from './quantities.ts';
import { health, readingsAnswer } from './readings.ts';
import {
  instrument,
  instrumentBody,
  placement,
  placementBody,
  room,
  roomBody,
  roomNow,
  sensorsPage,
  venue,
  venueBody,
} from './registry.ts';
import { roomRoutes } from './room-routes.ts';
import { sensorRoutes } from './sensor-routes.ts';
import { climate, pitch } from './series.ts';
import { visitRoutes } from './visit-routes.ts';
import { visit, visitBody } from './visits.ts';
import { call, instrumentPage, instrumentSummary, notice } from './watch.ts';
import { watchRoutes } from './watch-routes.ts';

export interface Route {
  readonly method: 'get' | 'put' | 'post';
  /** OpenAPI form: /api/instruments/{id} */
  readonly path: string;
  readonly summary: string;
  readonly params?: z.ZodMiniType;
  readonly query?: z.ZodMiniType;
  readonly body?: z.ZodMiniType;
  readonly answer: z.ZodMiniType;
  /** Who may call it: anyone, a gateway by its bearer token, or a person. */
  readonly asks: 'nobody' | 'gateway token' | 'person';
}

const byId = z.object({ id });
const numberInQuery = z.pipe(
  z.string().check(z.regex(/^-?\d+(\.\d+)?$/, 'must be a number')),
  z.transform(Number),
);
const window = z.object({
  from: z.optional(z.pipe(numberInQuery, timeMs)),
  to: z.optional(z.pipe(numberInQuery, timeMs)),
  /** How many points the answer may have at most. */
  points: z.optional(z.pipe(numberInQuery, z.int().check(z.gte(2), z.lte(20_000)))),
});

export const routes = {
  health: {
    method: 'get',
    path: '/health',
    summary: 'Is the service up, and how old is its newest reading?',
    answer: health,
    asks: 'nobody',
  },
  addReadings: {
    method: 'post',
    path: '/api/readings',
    summary: 'Store a SenML JSON pack (RFC 8428). Answers 2xx only after the readings are committed.',
    answer: readingsAnswer,
    asks: 'gateway token',
  },
  venues: {
    method: 'get',
    path: '/api/venues',
    summary: 'All venues',
    answer: z.array(venue),
    asks: 'person',
  },
  putVenue: {
    method: 'put',
    path: '/api/venues/{id}',
    summary: 'Create or change a venue',
    params: byId,
    body: venueBody,
    answer: venue,
    asks: 'person',
  },
  rooms: {
    method: 'get',
    path: '/api/rooms',
    summary: 'All rooms, with their air now',
    answer: z.array(roomNow),
    asks: 'person',
  },
  putRoom: {
    method: 'put',
    path: '/api/rooms/{id}',
    summary: 'Create or change a room',
    params: byId,
    body: roomBody,
    answer: room,
    asks: 'person',
  },
  instruments: {
    method: 'get',
    path: '/api/instruments',
    summary: 'All instruments with advice and year strip, most urgent first',
    answer: z.array(instrumentSummary),
    asks: 'person',
  },
  instrument: {
    method: 'get',
    path: '/api/instruments/{id}',
    summary: 'One instrument: advice, notices, calls, visits, predicted pitch',
    params: byId,
    answer: instrumentPage,
    asks: 'person',
  },
  putInstrument: {
    method: 'put',
    path: '/api/instruments/{id}',
    summary: 'Create or change an instrument',
    params: byId,
    body: instrumentBody,
    answer: instrument,
    asks: 'person',
  },
  climate: {
    method: 'get',
    path: '/api/instruments/{id}/climate',
    summary: 'Air and board moisture between from and to, at most so many points',
    params: byId,
    query: window,
    answer: climate,
    asks: 'person',
  },
  pitch: {
    method: 'get',
    path: '/api/instruments/{id}/pitch',
    summary: 'Predicted offset by register, now and over the window',
    params: byId,
    query: window,
    answer: pitch,
    asks: 'person',
  },
  sensors: {
    method: 'get',
    path: '/api/sensors',
    summary: 'All sensors, newcomers without a place first, and what was refused',
    answer: sensorsPage,
    asks: 'person',
  },
  putPlacement: {
    method: 'put',
    path: '/api/placements/{id}',
    summary:
      'Say where a sensor stands from when on, or correct it. A placement still open of the same sensor ends where the new one begins.',
    params: byId,
    body: placementBody,
    answer: placement,
    asks: 'person',
  },
  visits: {
    method: 'get',
    path: '/api/visits',
    summary: 'Visits of an instrument, newest first',
    query: z.object({ instrument: id }),
    answer: z.array(visit),
    asks: 'person',
  },
  putVisit: {
    method: 'put',
    path: '/api/visits/{id}',
    summary: 'Record a visit. The same visit twice is harmless; another body under one id is a 409.',
    params: byId,
    body: visitBody,
    answer: visit,
    asks: 'person',
  },
  notices: {
    method: 'get',
    path: '/api/notices',
    summary: 'Notices, open ones first',
    query: z.object({ over: z.optional(z.enum(['yes', 'no'])) }),
    answer: z.array(notice),
    asks: 'person',
  },
  calls: {
    method: 'get',
    path: '/api/calls',
    summary: 'Visits that are warranted, most urgent first',
    answer: z.array(call),
    asks: 'person',
  },
  ...visitRoutes,
  ...driftRoutes,
  ...watchRoutes,
  ...roomRoutes,
  ...sensorRoutes,
} as const satisfies Record<string, Route>;

export type Routes = typeof routes;
export type RouteName = keyof Routes;
