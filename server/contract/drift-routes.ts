/** Routes of what was learned of drift, and how past words fared. */
import * as z from 'zod/mini';
import { bestDates, forecast, learned, lookBackPage, whatIfBody, whatIfPage } from './drift.ts';
import { id } from './quantities.ts';

const byId = z.object({ id });
const tunings = z.pipe(z.string().check(z.regex(/^\d{1,2}$/, 'must be a whole number')), z.transform(Number));

export const driftRoutes = {
  learned: {
    method: 'get',
    path: '/api/instruments/{id}/learned',
    summary: 'How far this instrument moves, against its fleet; what it was learned from; why it moved',
    params: byId,
    answer: learned,
    asks: 'person',
  },
  forecast: {
    method: 'get',
    path: '/api/instruments/{id}/forecast',
    summary:
      'What the coming 120 days bring, with bands; whether it asks for a tuning, and whether it is wiser to wait',
    params: byId,
    answer: forecast,
    asks: 'person',
  },
  bestDates: {
    method: 'get',
    path: '/api/instruments/{id}/best-dates',
    summary: 'When to tune in the coming year, given how often',
    params: byId,
    query: z.object({ tunings: z.pipe(tunings, z.int().check(z.gte(1), z.lte(12))) }),
    answer: bestDates,
    asks: 'person',
  },
  whatIf: {
    method: 'post',
    path: '/api/instruments/{id}/what-if',
    summary: 'What holding the air within a band, or standing in another room, would change',
    params: byId,
    body: whatIfBody,
    answer: whatIfPage,
    asks: 'person',
  },
  lookBack: {
    method: 'get',
    path: '/api/instruments/{id}/look-back',
    summary: 'What would have been said before each past visit, against what was found',
    params: byId,
    answer: lookBackPage,
    asks: 'person',
  },
} as const;
