import type { Visit } from '../contract/index.ts';

/** Was it tuned: is anything known of how it was left? */
export const isTuning = (visit: Pick<Visit, 'asLeft'>): boolean =>
  visit.asLeft !== null && Object.values(visit.asLeft).some((reading) => reading !== null);
