/** Who is dropped again and again comes in more slowly; told on a clock that the test moves. */
import { expect, test } from 'vitest';
import { createPatience } from '../../ingest/sources/patience.ts';

function stand(remembered?: number) {
  const clock = { nowMs: 1_000_000 };
  return { clock, patience: createPatience(() => clock.nowMs, remembered) };
}

/** One attempt that waits its turn and is dropped. */
function attempt({ clock, patience }: ReturnType<typeof stand>, key: string): number {
  const waitMs = patience.waitMs(key) ?? Number.NaN;
  clock.nowMs += waitMs;
  patience.dropped(key);
  return waitMs;
}

test('the pause doubles from a quarter of a second to half a minute', () => {
  const here = stand();
  const waits = Array.from({ length: 11 }, () => attempt(here, 'attic'));
  expect(waits).toEqual([0, 250, 500, 1_000, 2_000, 4_000, 8_000, 16_000, 30_000, 30_000, 30_000]);
  expect(here.patience.waitMs('cellar')).toBe(0);
});

test('who behaved starts afresh', () => {
  const here = stand();
  for (let drops = 0; drops < 5; drops += 1) attempt(here, 'attic');
  here.patience.settled('attic');
  expect(here.patience.waitMs('attic')).toBe(0);
});

test('attempts made side by side queue up; those too far back are sent away', () => {
  const { patience } = stand();
  for (let drops = 0; drops < 6; drops += 1) patience.dropped('attic');
  const waits = Array.from({ length: 10 }, () => patience.waitMs('attic'));
  expect(waits).toEqual([8_000, 16_000, 24_000, 32_000, 40_000, 48_000, 56_000, null, null, null]);
});

test('a past is forgotten after a quarter of an hour of peace', () => {
  const { clock, patience } = stand();
  for (let drops = 0; drops < 6; drops += 1) patience.dropped('attic');
  clock.nowMs += 8_000 + 15 * 60_000;
  patience.dropped('cellar');
  expect(patience.size()).toBe(1);
  expect(patience.waitMs('attic')).toBe(0);
});

test('a spray of invented names takes a bounded memory', () => {
  const { patience } = stand(100);
  for (let name = 0; name < 5_000; name += 1) patience.dropped(`name ${name}`);
  expect(patience.size()).toBe(100);
});
