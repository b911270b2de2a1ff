/** Houses that are damp through and through, with a manager who is told of it at once: work for watch and messages. */
import { randomUUID } from 'node:crypto';
import type { Reading } from '../../ingest/index.ts';
import type { PersonBody } from '../../server/contract/index.ts';
import { putInstrument } from '../../server/registry/instruments.ts';
import { firstOrganisation } from '../../server/registry/organisations.ts';
import { putPerson } from '../../server/registry/people.ts';
import { noteSensor, putPlacement } from '../../server/registry/sensors.ts';
import { putRoom, putVenue } from '../../server/registry/venues.ts';
import { putWebhook } from '../../server/registry/webhooks.ts';
import { openStores } from '../../server/services.ts';
import { putSettings } from '../../server/watch/settings.ts';
import { instrumentBody, roomBody } from './api.ts';

const hourMs = 3_600_000;
const dayMs = 24 * hourMs;
const secret = 'a secret of some length';
export const pianosAHouse = 4;
/** These two begin there for all its pianos, each as one notice of the venue, and nothing else does. */
export const dampRules = ['action-wet', 'rust'];

const manager = (venueId: string, number: number): PersonBody => ({
  name: `House ${number}`,
  email: houseAddress(number),
  role: 'venue manager',
  language: 'en',
  timeZone: 'UTC',
  digestHour: new Date().getUTCHours(),
  quietFromHour: 0,
  quietUntilHour: 0,
  atOnce: 'never',
  reminderDays: 0,
  venueIds: [venueId],
  instrumentIds: [],
});

export const houseAddress = (number: number): string => `house-${number}@fernmoor.example`;

/**
 * Puts a house while nothing runs; the first one brings the settings that keep its sensors' silence out of the story.
 * @param hookUrl where the first one's webhook leads; null: none
 */
export async function addDampHouse(folder: string, number: number, hookUrl: string | null): Promise<void> {
  const stores = await openStores(folder);
  try {
    const { db, store } = stores;
    const nowMs = Date.now();
    const viewer = await firstOrganisation(db, nowMs);
    if (number === 0) {
      const off = { 'watch sensor-silent': 0, 'watch sensor-stuck': 0 };
      await putSettings(db, viewer, 'organisation', viewer.organisationId, off);
      if (hookUrl !== null) await putWebhook(db, viewer, randomUUID(), { url: hookUrl, secret }, nowMs);
    }
    const venueId = randomUUID();
    await putVenue(db, viewer, { id: venueId, name: `Venue ${number}`, timeZone: 'UTC' });
    const readings: Reading[] = [];
    const endMs = Math.floor(nowMs / hourMs) * hourMs;
    for (let piano = 0; piano < pianosAHouse; piano += 1) {
      const [roomId, id] = [randomUUID(), randomUUID()];
      const urn = `urn:dev:mac:0200${String(number).padStart(6, '0')}${String(piano).padStart(2, '0')}`;
      await putRoom(db, viewer, { ...roomBody, id: roomId, venueId, name: `Room ${piano}` });
      await putInstrument(db, viewer, { ...instrumentBody, id, roomId });
      const none = { humidityPct: null, temperatureC: null, batteryPct: null, intervalMs: null };
      const firstMs = nowMs - 30 * dayMs;
      const sensor = await noteSensor(db, viewer, { urn, firstMs, lastMs: firstMs, ...none });
      const place = { spot: 'room', roomId, instrumentId: null, venueId: null } as const;
      const placement = { id: randomUUID(), sensorId: sensor.id, ...place, fromMs: firstMs, untilMs: null };
      await putPlacement(db, viewer, placement);
      for (let timeMs = endMs - 9 * dayMs; timeMs <= endMs; timeMs += hourMs) {
        const breath = Math.sin(timeMs / (5 * hourMs));
        const air = { humidityPct: 71 + breath, temperatureC: 20 + 0.4 * breath };
        readings.push({ organisation: viewer.organisationId, sensor: urn, timeMs, ...air });
      }
    }
    // Known for two days, so that a digest hour lies between and the first news is told at once.
    await putPerson(db, viewer, randomUUID(), manager(venueId, number), nowMs - 2 * dayMs);
    await store.append(readings);
  } finally {
    await stores.stop();
  }
}
