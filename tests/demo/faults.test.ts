/** Every planted fault can be seen in what the sensors say, and the quiet ones are quiet. */
import { describe, expect, test } from 'vitest';
import { dayMs } from '../../demo-data/clock.ts';
import { type Course, hourly, mean, medianRange, past } from './past.ts';

const seeded = past();
const { world } = seeded;
const { endMs } = world.anchor;
const ago = (days: number): number => endMs - days * dayMs;
const fault = (kind: string) => world.faults.filter((one) => one.kind === kind);

/** How far the inside stands above the room, points of humidity. */
function above(instrument: string, room: string, fromMs: number, untilMs: number): number {
  return (
    mean(seeded.course(`${instrument}/inside`), 'humidityPct', fromMs, untilMs) -
    mean(seeded.course(`${room}/room`), 'humidityPct', fromMs, untilMs)
  );
}

const within = (course: Course, fromMs: number, untilMs: number): number[] =>
  course.timesMs.filter((timeMs) => timeMs >= fromMs && timeMs < untilMs);

test('the faults asked for are all planted, each on something that exists', () => {
  const kinds = new Set(world.faults.map((one) => one.kind));
  expect([...kinds].sort()).toEqual(['battery flat', 'damp', 'gap', 'stuck', 'tank dry', 'unplugged']);
  const sensors = new Set(world.sensors.map((sensor) => sensor.key));
  const venues = new Set(world.sensors.map((sensor) => sensor.venue));
  for (const one of world.faults) {
    if ('sensor' in one) expect(sensors).toContain(one.sensor);
    if ('venue' in one) expect(venues).toContain(one.venue);
  }
});

test('a humidity control runs dry twice: the inside falls to the room’s humidity, once for good', () => {
  const [before, now] = fault('tank dry');
  if (!before || !now) throw new Error('not planted');
  // Five days for the wood in the case to give up what it holds.
  expect(above('studio-4-a', 'studio-4', before.fromMs - 8 * dayMs, before.fromMs)).toBeGreaterThan(8);
  expect(above('studio-4-a', 'studio-4', before.fromMs + 5 * dayMs, before.untilMs)).toBeLessThan(4);
  expect(
    above('studio-4-a', 'studio-4', before.untilMs + 2 * dayMs, before.untilMs + 9 * dayMs),
  ).toBeGreaterThan(6);
  expect(above('studio-4-a', 'studio-4', now.fromMs + 5 * dayMs, endMs)).toBeLessThan(4);
  expect(now.untilMs).toBe(Number.POSITIVE_INFINITY);
});

test('another is unplugged: it neither humidifies nor dries any more', () => {
  const [pulled] = fault('unplugged');
  if (!pulled) throw new Error('not planted');
  const winterBefore = above('brannoway', 'brannoway', Date.UTC(2026, 0, 5), Date.UTC(2026, 1, 5));
  expect(winterBefore).toBeGreaterThan(6);
  expect(above('brannoway', 'brannoway', ago(20), endMs)).toBeLessThan(4);
  const summer = above('brannoway', 'brannoway', Date.UTC(2026, 7, 1), Date.UTC(2026, 7, 25));
  expect(summer).toBeLessThan(-3);
});

test('the control that works keeps its case within five points all year', () => {
  const inside = hourly(seeded.course('studio-2-a/inside')).filter((one) => !Number.isNaN(one));
  inside.sort((a, b) => a - b);
  const at = (share: number) => inside[Math.floor(share * inside.length)] ?? Number.NaN;
  expect(at(0.93) - at(0.07)).toBeLessThan(10);
  const room = hourly(seeded.course('studio-2/room'))
    .filter((one) => !Number.isNaN(one))
    .sort((a, b) => a - b);
  const roomAt = (share: number) => room[Math.floor(share * room.length)] ?? Number.NaN;
  expect(roomAt(0.93) - roomAt(0.07)).toBeGreaterThan(20);
});

test('a battery runs flat: its charge is told to fall, then silence', () => {
  const [flat] = fault('battery flat');
  const course = seeded.course('practice-5/room');
  const told = course.battery;
  expect(told.length).toBeGreaterThan(400);
  expect(told[0]?.pct).toBeGreaterThan(60);
  expect(told.at(-1)?.pct).toBeLessThan(15);
  expect(told.every((one, i) => one.pct <= (told[i - 1]?.pct ?? 100))).toBe(true);
  expect(course.timesMs.at(-1)).toBeLessThan(flat?.fromMs ?? 0);
  expect(course.timesMs.at(-1)).toBeGreaterThan((flat?.fromMs ?? 0) - dayMs / 4);
});

test('a sensor is stuck: not a tenth of change for days, while the others move', () => {
  const [stuck] = fault('stuck');
  const course = seeded.course('parish-room/room');
  const values = (fromMs: number) =>
    new Set(course.humidityPct.filter((_, i) => (course.timesMs[i] ?? 0) >= fromMs));
  expect(values(stuck?.fromMs ?? 0).size).toBe(1);
  expect(within(course, stuck?.fromMs ?? 0, endMs).length).toBeGreaterThan(4 * 144);
  expect(values((stuck?.fromMs ?? 0) - 2 * dayMs).size).toBeGreaterThan(10);
});

test('gaps: nothing of the venue arrives, and around them everything does', () => {
  for (const gap of world.faults) {
    if (gap.kind !== 'gap') continue;
    for (const sensor of world.sensors.filter((one) => one.venue === gap.venue && one.placed)) {
      const course = seeded.course(sensor.key);
      expect(within(course, gap.fromMs, gap.untilMs)).toEqual([]);
      if ((sensor.stays[0]?.fromMs ?? 0) > gap.fromMs - dayMs) continue;
      expect(within(course, gap.fromMs - dayMs / 2, gap.fromMs).length).toBeGreaterThan(66);
    }
  }
});

test('the records say truly when each sensor was first and last heard', () => {
  const keys = new Map(world.sensors.map((sensor) => [sensor.urn, sensor.key]));
  for (const { urn, firstMs, lastMs } of seeded.records.sensors) {
    const { timesMs } = seeded.course(keys.get(urn) ?? '');
    expect([firstMs, lastMs]).toEqual([timesMs[0], timesMs.at(-1)]);
  }
});

test('radio loses a few single messages, no more', () => {
  const course = seeded.course('oskelund/room');
  const expected = Math.round((endMs - world.startMs) / 600_000);
  expect(course.timesMs.length).toBeLessThan(expected);
  expect(course.timesMs.length).toBeGreaterThan(0.995 * expected);
});

describe('the state at the end', () => {
  test('one room swings by the day, the humidified homes hardly', () => {
    const day = (key: string) => medianRange(hourly(seeded.course(key)).slice(-24 * 30), 24);
    expect(day('ensemble/room')).toBeGreaterThan(10);
    for (const key of ['oskelund/room', 'pirrelow/room', 'tavrick/room']) expect(day(key)).toBeLessThan(6);
  });

  test('one room is damp that was not', () => {
    const room = seeded.course('vossarand/room');
    expect(mean(room, 'humidityPct', ago(20), endMs)).toBeGreaterThan(
      mean(room, 'humidityPct', ago(80), ago(60)) + 8,
    );
  });

  test('two newcomers speak that nobody has placed', () => {
    const placed = new Set(seeded.records.placements.map((one) => one.urn));
    const newcomers = world.sensors.filter((sensor) => !placed.has(sensor.urn));
    expect(newcomers.map((one) => one.placed)).toEqual([false, false]);
    for (const { key } of newcomers) {
      const course = seeded.course(key);
      expect(course.timesMs[0]).toBeGreaterThan(ago(10));
      expect(course.timesMs.at(-1)).toBeGreaterThan(endMs - 3 * 600_000);
    }
  });
});

// The scenario is arranged in days before its end; it must hold whatever season that falls in.
describe.each([
  ['January', Date.UTC(2027, 0, 20)],
  ['April', Date.UTC(2027, 3, 14)],
  ['July', Date.UTC(2027, 6, 18)],
])('an end in %s', (_month, until) => {
  const other = past('test', until, 5);

  test('silence, standstill, swing, damp and newcomers are there', () => {
    const last = (key: string) => other.course(key).timesMs.at(-1) ?? 0;
    expect(last('practice-5/room')).toBeLessThan(until - 6 * dayMs);
    const parish = other.course('parish-room/room');
    expect(new Set(parish.humidityPct.slice(-144)).size).toBe(1);
    const range = (key: string) => medianRange(hourly(other.course(key)).slice(-24 * 30), 24);
    expect(range('ensemble/room')).toBeGreaterThan(1.5 * range('tavrick/room'));
    const damp = other.course('vossarand/room');
    expect(mean(damp, 'humidityPct', until - 20 * dayMs, until)).toBeGreaterThan(
      mean(other.course('brannoway/room'), 'humidityPct', until - 20 * dayMs, until) + 10,
    );
    expect(other.course('studio-3/inside').timesMs.length).toBeGreaterThan(100);
  });

  test('quiet homes stay within a span no piano minds', () => {
    for (const key of ['oskelund/room', 'pirrelow/room', 'tavrick/room']) {
      const rh = hourly(other.course(key))
        .slice(-24 * 30)
        .filter((one) => !Number.isNaN(one));
      expect(Math.min(...rh)).toBeGreaterThan(33);
      expect(Math.max(...rh)).toBeLessThan(68);
    }
  });
});
