/** The page of an instrument shows the very figures by which its notice was decided. */
import { randomUUID } from 'node:crypto';
import { expect, test } from 'vitest';
import type { Pitch } from '../../server/contract/index.ts';
import { tuning } from '../support/api.ts';
import { measureRoom } from '../support/measured-room.ts';
import { eventually } from '../support/service.ts';
import { gatewayStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';

const dayMs = 86_400_000;
const urn = 'urn:dev:mac:0200000000ab01';
const stage = standing(gatewayStage);

test('a pitch that is out: page, notice and course tell one chance, one level, one farthest register', async () => {
  const { client } = stage;
  const { roomId, instrumentId } = await client.house();
  expect((await client.instrument(instrumentId)).whole).toBeNull();
  const nowMs = Date.now();
  const days = 70;
  await measureRoom(stage, {
    ...{ urn, roomId, days, nowMs },
    // Six weeks at 48 %, then four at 36 %.
    airAt: (hour) => ({
      humidityPct: (hour < (days - 28) * 24 ? 48 : 36) + 0.5 * Math.sin(hour / 4),
      temperatureC: 20.5,
    }),
  });
  await client.put(`/api/visits/${randomUUID()}`, tuning(instrumentId, nowMs - 40 * dayMs));
  const page = await eventually('the pitch is out', async () => {
    const now = await client.instrument(instrumentId);
    return now.notices.some((one) => one.rule === 'pitch-out') && now;
  });
  const notice = page.notices.find((one) => one.rule === 'pitch-out');
  // The watch may have looked once more: a notice that says the same keeps the figures of its last words, and some
  // seconds, or an hour that has ended, move the pitch by less than is shown.
  expect(notice?.evidence).toMatchObject({
    'chance out of tolerance now': expect.closeTo(page.whole?.beyond ?? Number.NaN, 2),
    'level, cents': expect.closeTo(page.whole?.levelCents ?? Number.NaN, 1),
  });
  const farthest = page.registers.toSorted(
    (a, b) => Math.abs(b.offsetCents ?? 0) - Math.abs(a.offsetCents ?? 0),
  )[0];
  expect(notice?.what).toContain(farthest?.register);
  const pitch = await client.get<Pitch>(`/api/instruments/${instrumentId}/pitch?points=50`);
  expect(pitch.whole?.beyond).toBeCloseTo(page.whole?.beyond ?? 0, 1);
  expect(pitch.whole?.levelCents).toBeCloseTo(page.whole?.levelCents ?? 0, 0);
});
