/** A visit of which a report has everything to say: air with a gap, findings, photos, pins, offers, a signature. */
import { randomUUID } from 'node:crypto';
import sharp from 'sharp';
import { nothingMeasured } from '../support/api.ts';
import { measureRoom } from '../support/measured-room.ts';
import { gatewayStage } from '../support/service-stage.ts';
import type { Undo } from '../support/standing.ts';
import { allItems, finding, inspection } from './sheet.ts';

const hourMs = 3_600_000;
const dayMs = 24 * hourMs;

/** The service with that visit in it, the newest of its one instrument. */
export async function reportedVisit(undo: Undo, nowMs: number) {
  const photoId = randomUUID();
  const stage = await gatewayStage(undo);
  const { client } = stage;
  const house = await client.house({ name: 'Grand “Żółw” 185 cm', serial: 'Ж 12345' });
  await client.put('/api/workshop', {
    heading: 'Marten & Sedge, pianos',
    ratePerHourCents: 7800,
    currency: 'EUR',
    disclaimer: 'Offers hold for sixty days.',
  });
  await measureRoom(stage, {
    ...{ urn: 'urn:dev:mac:0200000000bb01', roomId: house.roomId, days: 90, nowMs },
    airAt: (hour) => {
      // Nothing was measured for 44 h: eight or nine of some 380 columns of 5 h, 2 % at whatever minute this is run.
      if (hour > 1000 && hour < 1045) return null;
      const humidityPct = 45 - 15 * Math.sin((hour / (90 * 24)) * Math.PI);
      return { humidityPct, temperatureC: 20.5 + Math.sin(hour / 4) };
    },
  });
  await client.put(`/api/visits/${randomUUID()}`, {
    ...inspection(house.instrumentId, nowMs - 80 * dayMs),
    id: undefined,
  });
  const photo = await sharp({ create: { width: 800, height: 600, channels: 3, background: '#b08040' } })
    .composite([
      {
        input: { create: { width: 200, height: 200, channels: 3, background: '#203040' } },
        left: 500,
        top: 80,
      },
    ])
    .jpeg()
    .toBuffer();
  await fetch(`${stage.service.url}/api/instruments/${house.instrumentId}/photos/${photoId}`, {
    method: 'PUT',
    headers: { 'content-type': 'image/jpeg' },
    body: Buffer.from(photo),
  });
  const { id, ...visit } = inspection(
    house.instrumentId,
    nowMs - hourMs,
    [
      finding({
        itemId: 'ribs.separated',
        measured: { value: 2.5, unit: 'mm' },
        words: 'third rib from the treble',
        conditionClass: 3,
        urgencyClass: 3,
        recommendationClass: 3,
        photoIds: [photoId],
      }),
      finding({
        assembly: 'keys',
        part: 'Free return',
        itemId: 'keys.free',
        conditionClass: 1,
        urgencyClass: 1,
        recommendationClass: 1,
        causedBy: 'keys.bushings',
        notes: { low: 28, high: 52 },
        earlier: [{ conditionClass: 2, atMs: nowMs, why: 'better after easing' }],
      }),
    ],
    {
      sound: allItems.filter((one) => !['ribs.separated', 'keys.free', 'centres.friction'].includes(one)),
      notExamined: [{ itemId: 'centres.friction', why: 'no time' }],
      measured: [{ itemId: 'keys.dip', value: 10.1 }],
      pins: [
        { section: 'bass', torqueNm: 5, feel: null, holds: true },
        { section: 'tenor', torqueNm: null, feel: 'tight', holds: true },
      ],
      workDone: [{ job: 'tuning', words: 'Tuning', minutes: 85 }],
      control: [{ part: 'water level', state: 'works', action: 'filled' }],
      photos: [
        {
          id: photoId,
          stage: 'finding',
          itemId: 'ribs.separated',
          caption: 'Rib, from below',
          mark: { x: 0.75, y: 0.3 },
          bytes: photo.length,
        },
        {
          id: randomUUID(),
          stage: 'other',
          itemId: null,
          caption: 'Still on the phone',
          mark: null,
          bytes: 1,
        },
      ],
      estimate: {
        ratePerHourCents: 7800,
        currency: 'EUR',
        lines: [
          {
            job: 'rib-repair',
            name: 'Glue and secure a separated rib',
            option: 'must',
            count: 1,
            minutes: { least: 45, likely: 90, most: 180 },
            partsCents: 1500,
            itemIds: ['ribs.separated'],
          },
          {
            job: 'key-easing',
            name: 'Ease keys',
            option: 'could',
            count: 1,
            minutes: { least: 60, likely: 90, most: 120 },
            partsCents: 0,
            itemIds: ['keys.free'],
          },
        ],
      },
      signature: { by: 'E. Marten', strokes: [[50, 200, 300, 60, 420, 220, 700, 90]] },
    },
  );
  await client.put(`/api/visits/${id}`, {
    ...visit,
    by: 'E. Marten',
    conditions: { humidityPct: 38, temperatureC: 20.5 },
    asFound: { ...nothingMeasured, a4: { unit: 'Hz', value: 438.7 }, tenor: { unit: 'cents', value: -9 } },
    asLeft: { ...nothingMeasured, a4: { unit: 'Hz', value: 440 }, tenor: { unit: 'cents', value: 0 } },
    unisonsFoundCents: 2.5,
    unisonsLeftCents: 0.4,
    unisonsFound: [
      { register: 'tenor', keys: [28, 32], sampled: 3, cents: null, word: 'slow beat' },
      { register: 'middle', keys: [], sampled: null, cents: 1.2, word: null },
    ],
    unisonsLeft: [{ register: 'tenor', keys: [], sampled: 5, cents: 0.3, word: null }],
    note: Array.from({ length: 2000 }, (_, i) => `word${i}`).join(' '),
  });
  return { ...stage, house, visitId: id };
}
