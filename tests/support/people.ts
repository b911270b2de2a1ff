/** People who are told of things. */
import type { PersonBody } from '../../server/contract/index.ts';

/** Hears by day, at once only of what cannot wait. */
export const technician: PersonBody = {
  name: 'Ilva Marrendow',
  email: 'ilva@workshop.example',
  role: 'technician',
  language: 'en',
  timeZone: 'Europe/Vienna',
  digestHour: 7,
  quietFromHour: 21,
  quietUntilHour: 6,
  atOnce: 'urgent',
  reminderDays: 7,
  venueIds: [],
  instrumentIds: [],
};

/** Hears once a day and is never reminded, at any hour. */
export const calmly = { quietFromHour: 0, quietUntilHour: 0, atOnce: 'never', reminderDays: 0 } as const;
