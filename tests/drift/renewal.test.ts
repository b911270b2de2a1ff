/** Forecasts are renewed by themselves, once a day and after a visit, and the daily look reads what is kept. Real stores, a clock that the story moves. */
import { randomUUID } from 'node:crypto';
import { afterEach, describe, expect, test } from 'vitest';
import type { UnisonSample } from '../../server/contract/index.ts';
import { nextForecastMs } from '../../server/drift/forecast-times.ts';
import { keptForecast } from '../../server/drift/forecasting.ts';
import { keptIntervals } from '../../server/drift/learned.ts';
import { type Renewal, startRenewal } from '../../server/drift/renewal.ts';
import { inPlace } from '../../server/drift/thinking.ts';
import { putEvent } from '../../server/registry/events.ts';
import { loadOutlooks } from '../../server/watch/outlook-store.ts';
import { nothingMeasured, tuning } from '../support/api.ts';
import { seededIds } from '../support/ids.ts';
import { type AirCourse, dayMs, hourMs, openStage, type Stage } from '../support/watch-stage.ts';

const startMs = Date.parse('2026-10-05T09:00:00Z');
let stage: Stage;
let renewal: Renewal;
afterEach(async () => {
  await renewal.stop();
  await stage.stop();
});

/** Dry in winter, damp in summer, with a week's wander. */
const seasons: AirCourse = (timeMs) => ({
  humidityPct:
    44 -
    10 * Math.cos((2 * Math.PI * (timeMs - Date.UTC(2026, 7, 1))) / (365 * dayMs) + Math.PI) +
    2 * Math.sin(timeMs / (30 * hourMs)),
  temperatureC: 20.5 + 0.5 * Math.sin(timeMs / (4 * hourMs)),
});

async function begin() {
  stage = await openStage(startMs);
  const { db, store } = stage.stores;
  renewal = startRenewal(
    {
      ...{ db, store, thinking: inPlace, now: () => stage.nowMs },
      log: {
        error(fields, message) {
          throw new Error(message, { cause: fields });
        },
      },
      renewed: (viewer, ids) => stage.watch.lookSoon(viewer, ids),
    },
    2 ** 31 - 1,
  );
  const venue = await stage.venue();
  const piano = await stage.piano(venue, 'Hall', seasons);
  await stage.past(420);
  const tuned = (atMs: number) => ({
    ...tuning(piano.id, atMs),
    asLeft: {
      ...nothingMeasured,
      tenor: { unit: 'cents' as const, value: 0 },
      middle: { unit: 'cents' as const, value: 0 },
      treble: { unit: 'cents' as const, value: 0 },
    },
  });
  await stage.visit(tuned(startMs - 60 * dayMs));
  const outlook = async () => {
    const found = (await loadOutlooks(db, [piano.id])).get(piano.id);
    if (!found) throw new Error('the piano was looked at');
    return found;
  };
  const kept = () => keptForecast(db, stage.viewer, piano.id, stage.nowMs);
  return { venue, piano, tuned, outlook, kept };
}

describe('a piano with a year of its room and a tuning', () => {
  test('is looked at by the week’s air until its forecast is made, then by the forecast', async () => {
    const { venue, piano, outlook, kept } = await begin();
    const eventId = randomUUID();
    await putEvent(stage.stores.db, stage.viewer, {
      id: eventId,
      venueId: venue,
      name: 'Autumn recital',
      startMs: startMs + 12 * dayMs,
      instrumentIds: [piano.id],
    });
    expect(await kept()).toBeNull();
    expect((await outlook()).comingBy).toBe('air as in the past week');
    expect(await renewal.tick()).toBe(0);
    const made = await kept();
    if (!made) throw new Error('a forecast was made');
    expect(made.timesMs).toHaveLength(120);
    await stage.watch.tick();
    const look = await outlook();
    expect(look.comingBy).toBe('forecast');
    const day = made.timesMs.findIndex((endMs) => startMs + 21 * dayMs <= endMs);
    expect(look.pitch?.later).toBe(made.pitchBeyond[day]);
    expect(look.decision?.advice).toBe(made.decision?.advice);
    expect(look.events[0]?.unsteady).toBe(
      made.events.find((one) => one.eventId === eventId)?.unsteadyByLeadDays[2],
    );
    // On the day itself nothing has moved yet; a tuning made earlier holds no better.
    const chances = made.events[0]?.unsteadyByLeadDays ?? [];
    expect(chances[0]).toBe(0);
    expect(chances[12] ?? 0).toBeGreaterThanOrEqual(chances[1] ?? 1);
  });

  test('a visit makes the old one stale at once; the next renewal takes its place, and then there is none until its turn', async () => {
    const { piano, tuned, outlook, kept } = await begin();
    await renewal.tick();
    const before = await kept();
    await stage.pass(2 * hourMs);
    await stage.visit(tuned(stage.nowMs - hourMs));
    renewal.soon(stage.viewer, [piano.id]);
    expect(await kept()).toBeNull();
    expect((await outlook()).comingBy).toBe('air as in the past week');
    await renewal.tick();
    const after = await kept();
    expect(after?.madeMs).toBe(stage.nowMs);
    const ofMiddle = (one: typeof after) =>
      one?.registers.find(({ register }) => register === 'middle')?.offsetCents.middle[0] ?? Number.NaN;
    // Just tuned: near its pitch, where the old forecast had it two months away.
    expect(Math.abs(ofMiddle(after))).toBeLessThan(Math.abs(ofMiddle(before)));
    await renewal.tick();
    expect((await kept())?.madeMs).toBe(stage.nowMs);
    await stage.pass(dayMs);
    await renewal.tick();
    expect((await kept())?.madeMs).toBe(stage.nowMs);
  });
});

describe('an A4 heard in passing, nine cents sharp, two months after a tuning', () => {
  test('page, look and forecast start from it for the middle, and from the tuning for all else', async () => {
    const { piano, outlook, kept } = await begin();
    await renewal.tick();
    const before = await kept();
    const unisons = (await outlook()).unisons;
    await stage.pass(hourMs);
    const a4 = { unit: 'cents', value: 9 } as const;
    // In the hour that still runs.
    const passing = { ...tuning(piano.id, stage.nowMs), asLeft: null, asFound: { ...nothingMeasured, a4 } };
    await stage.visit(passing);
    renewal.soon(stage.viewer, [piano.id]);
    await renewal.tick();
    const after = await kept();
    const first = (made: typeof after, of: string) =>
      made?.registers.find(({ register }) => register === of)?.offsetCents.middle[0] ?? Number.NaN;
    expect(Math.abs(first(after, 'middle') - 9)).toBeLessThan(1);
    expect(first(after, 'treble')).toBeCloseTo(first(before, 'treble'), 0);
    await stage.watch.tick();
    const look = await outlook();
    const now = Object.fromEntries(look.pitch?.registers.map((one) => [one.register, one.offsetCents]) ?? []);
    expect(now.middle).toBeCloseTo(9, 0);
    expect(now.tenor).not.toBeNull();
    expect(look.comingBy).toBe('forecast');
    expect(look.unisons?.spreadCents).toBeCloseTo(unisons?.spreadCents ?? Number.NaN, 1);
    // And it is learned from at once.
    const learned = (await keptIntervals(stage.stores.db, stage.viewer)).get(piano.id);
    expect(learned?.excluded).toEqual([]);
    expect(learned?.observations.map(({ changeCents }) => changeCents)).toEqual([{ middle: 9 }]);
    // Somebody hears that the tenor is sour: nothing foretells it clean after that.
    expect(look.unisons?.spreadCents).toBeLessThan(3);
    await stage.pass(hourMs);
    const sour: UnisonSample = { register: 'tenor', keys: [], sampled: null, cents: null, word: 'sour' };
    await stage.visit({ ...passing, atMs: stage.nowMs, asFound: null, unisonsFound: [sour] });
    renewal.soon(stage.viewer, [piano.id]);
    await renewal.tick();
    expect((await kept())?.spreadCents?.middle[0]).toBeGreaterThan(3.5);
    await stage.watch.tick();
    expect((await outlook()).unisons?.spreadCents).toBeGreaterThan(3.5);
  });
});

describe('turns of the day', () => {
  test('are spread over the hours, and come within a day', async () => {
    renewal = { soon: () => undefined, tick: async () => 0, stop: async () => undefined };
    stage = await openStage(startMs);
    const hours = new Array<number>(24).fill(0);
    const nextId = seededIds(24);
    for (let i = 0; i < 1000; i++) {
      const next = nextForecastMs(nextId(), startMs);
      expect(next).toBeGreaterThan(startMs);
      expect(next).toBeLessThanOrEqual(startMs + dayMs);
      const hour = Math.floor((next % dayMs) / hourMs);
      hours[hour] = (hours[hour] ?? 0) + 1;
    }
    // 1,000 over 24 hours: 42 each; below 15 or above 80 would be six standard deviations of chance.
    expect(Math.min(...hours)).toBeGreaterThan(15);
    expect(Math.max(...hours)).toBeLessThan(80);
  });
});
