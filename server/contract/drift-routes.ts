/** Routes of what was learned of drift, and how past words fared. */
import * as z from 'zod/mini';
import { learned, lookBackPage } from './drift.ts';
import { id } from './quantities.ts';

const byId = z.object({ id });

export const driftRoutes = {
  learned: {
    method: 'get',
    path: '/api/instruments/{id}/learned',
    summary: 'How far this instrument moves, against its fleet; what it was learned from; why it moved',
    params: byId,
    answer: learned,
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
