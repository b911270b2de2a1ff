/** How sure an event is: tuned in time and as it stands, from what the daily look and the stored forecasts know. */
import { randomUUID } from 'node:crypto';
import { afterEach, describe, expect, test } from 'vitest';
import { putEvent } from '../../server/registry/events.ts';
import { eventsAhead, oddsSentence } from '../../server/watch/venue-events.ts';
import { tuning } from '../support/api.ts';
import {
  type AirCourse,
  dayMs,
  hourMs,
  openStage,
  ramp,
  type Stage,
  steady,
} from '../support/watch-stage.ts';

const startMs = Date.UTC(2026, 10, 12, 9);
const plain = (text: string) => text.replaceAll('\u00a0', ' ');

describe('an event', () => {
  let stage: Stage;
  afterEach(() => stage.stop());

  async function recital(air: AirCourse, required: 'concert' | 'practice' | null = null) {
    stage = await openStage(startMs);
    const venue = await stage.venue('Quillmere Recital Hall');
    const piano = await stage.piano(venue, 'Auditorium', air, { use: 'concert' });
    await stage.past(60);
    await stage.visit(tuning(piano.id, startMs - 20 * dayMs, { unisonsLeftCents: 0.5 }));
    const id = randomUUID();
    await putEvent(stage.stores.db, stage.viewer, {
      id,
      venueId: venue,
      name: 'Winter recital',
      startMs: startMs + 10 * dayMs,
      instrumentIds: [piano.id],
      required,
    });
    await stage.watch.reconsider(stage.viewer, [piano.id], null);
    return piano;
  }
  const ahead = async () => {
    const [event] = await eventsAhead(stage.stores.db, stage.viewer, stage.nowMs);
    if (!event) throw new Error('the event is missing');
    return event;
  };

  test('in steady air is likely once tuned; in air that runs away less so', async () => {
    await recital(steady(45));
    const calm = await ahead();
    expect(calm.tuneMs).toBe(startMs + 8 * dayMs);
    expect(calm.tuned).toBeGreaterThan(0.7);
    expect(plain(calm.sentence)).toMatch(
      /^(\d in 10|Nearly sure), if tuned on 20 November and the heating stays as planned/,
    );
    await stage.stop();
    await recital(ramp(55, 30, startMs - 8 * dayMs, startMs + 4 * hourMs));
    const moving = await ahead();
    expect(moving.tuned ?? 1).toBeLessThan(calm.tuned ?? 0);
  });

  test('as it stands is read from the stored forecast, of the day it begins; another use is not judged by it', async () => {
    const piano = await recital(steady(45));
    const timesMs = Array.from({ length: 30 }, (_, i) => startMs + i * dayMs + 3 * hourMs);
    const body = JSON.stringify({ timesMs, beyond: timesMs.map((_, i) => (i === 10 ? 0.6 : 0.1)) });
    await stage.stores.db
      .insertInto('forecast')
      .values({
        instrument_id: piano.id,
        organisation_id: stage.viewer.organisationId,
        made_ms: startMs,
        rests_on: 'a story',
        body,
      })
      .onConflict((conflict) => conflict.column('instrument_id').doUpdateSet({ body }))
      .execute();
    const own = await ahead();
    expect(own.untuned).toBeCloseTo(0.4, 10);
    expect(plain(own.sentence)).toContain('; 4 in 10 as it stands.');
    await putEvent(stage.stores.db, stage.viewer, { ...own, required: 'practice' });
    expect((await ahead()).untuned).toBeNull();
  });

  test('of two pianos is as sure as the less sure, and silent where one cannot be told', async () => {
    const piano = await recital(steady(45));
    const other = await stage.piano(piano.venueId, 'Foyer', () => null, { use: 'concert' });
    const event = await ahead();
    await putEvent(stage.stores.db, stage.viewer, { ...event, instrumentIds: [piano.id, other.id] });
    const both = await ahead();
    expect(both.pianos.map((one) => one.tuned === null)).toEqual([false, true]);
    expect(both.tuned).toBeNull();
    expect(both.sentence).toContain('cannot be told yet');
  });
});

test('odds are never certain, and both ways are said', () => {
  expect(plain(oddsSentence({ tuned: 0.81, untuned: 0.42 }, '3 December'))).toBe(
    '8 in 10, if tuned on 3 December and the heating stays as planned; 4 in 10 as it stands.',
  );
  expect(plain(oddsSentence({ tuned: 1, untuned: 0 }, '3 December'))).toBe(
    'Nearly sure, if tuned on 3 December and the heating stays as planned; hardly likely as it stands.',
  );
});
