/** A finding reaches the science: in the same air, a board with a separated rib is nearer its limit, and the notice says so. */
import { randomUUID } from 'node:crypto';
import { expect, test } from 'vitest';
import { instrumentBody } from '../support/api.ts';
import { measureRoom } from '../support/measured-room.ts';
import { eventually } from '../support/service.ts';
import { gatewayStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';
import { finding, inspection } from './sheet.ts';

const hourMs = 3_600_000;
const days = 150;
const urn = 'urn:dev:mac:0200000000dd01';
const stage = standing(gatewayStage);

// Each of the watch's steps may take its time on a busy machine.
test('the same climate, another class', { timeout: 180_000 }, async () => {
  const { roomId, instrumentId: sound } = await stage.client.house();
  const ribbed = randomUUID();
  await stage.client.put(`/api/instruments/${ribbed}`, { ...instrumentBody, name: 'Grand 200 cm', roomId });
  const nowMs = Date.now();
  // Four months at 46 %, then heated air at 33 %.
  await measureRoom(stage, {
    ...{ urn, roomId, days, nowMs },
    airAt: (hour) => ({ humidityPct: hour < (days - 32) * 24 ? 46 : 33, temperatureC: 20.5 }),
  });
  const { id, ...body } = inspection(ribbed, nowMs - hourMs, [
    finding({
      itemId: 'ribs.separated',
      conditionClass: 2,
      words: 'third rib',
      measured: { value: 2, unit: 'mm' },
    }),
  ]);
  await stage.client.put(`/api/visits/${id}`, body);
  const whole = await eventually('the sound board is judged', async () => {
    const page = await stage.client.instrument(sound);
    return page.boardClass !== null && page;
  });
  const weak = await eventually('the notice has come', async () => {
    const page = await stage.client.instrument(ribbed);
    return page.notices.some(({ rule }) => rule === 'board-dry') && page;
  });
  expect(weak.boardMoisturePct).toBeCloseTo(whole.boardMoisturePct ?? Number.NaN, 2);
  expect(weak.boardClass).toBeGreaterThan(whole.boardClass ?? 3);
  const notice = weak.notices.find(({ rule }) => rule === 'board-dry');
  expect(`${notice?.what} ${notice?.why}`).toContain('separated rib');
  // Glued, and found sound at the next look: it bears as much as the other again.
  const { id: later, ...sheet } = inspection(ribbed, nowMs);
  await stage.client.put(`/api/visits/${later}`, sheet);
  const mended = await eventually('the look has reached the watch', async () => {
    const page = await stage.client.instrument(ribbed);
    return page.boardClass === whole.boardClass && page;
  });
  expect(mended.boardMoisturePct).toBeCloseTo(whole.boardMoisturePct ?? Number.NaN, 2);
});
