/** A finding reaches the science: in the same air, a board with a separated rib is nearer its limit, and the notice says so. */
import { randomUUID } from 'node:crypto';
import { expect, test } from 'vitest';
import { instrumentBody } from '../support/api.ts';
import { eventually } from '../support/service.ts';
import { gatewayStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';
import { finding, inspection } from './sheet.ts';

const hourMs = 3_600_000;
const days = 150;
const urn = 'urn:dev:mac:0200000000dd01';
const stage = standing(gatewayStage);

test('the same climate, another class', async () => {
  const { roomId, instrumentId: sound } = await stage.client.house();
  const ribbed = randomUUID();
  await stage.client.put(`/api/instruments/${ribbed}`, { ...instrumentBody, name: 'Grand 200 cm', roomId });
  const nowMs = Date.now();
  // Four months at 46 %, then heated air at 33 %.
  const air = (hour: number) => (hour < (days - 32) * 24 ? 46 : 33);
  for (let from = 0; from < days * 24; from += 600) {
    const pack = Array.from({ length: Math.min(600, days * 24 - from) }, (_, i) => from + i).flatMap(
      (hour) => {
        const t = Math.round((nowMs - (days * 24 - 1 - hour) * hourMs) / 1000);
        return [
          { n: `${urn}:humidity`, u: '%RH', v: air(hour), t },
          { n: `${urn}:temperature`, u: 'Cel', v: 20.5, t },
        ];
      },
    );
    const answer = await stage.client.ask('POST', '/api/readings', JSON.stringify(pack), {
      authorization: `Bearer ${stage.gateway.token}`,
      'content-type': 'application/senml+json',
    });
    expect(answer.status).toBe(200);
  }
  await eventually('the sensor is known', async () => (await stage.client.sensors()).sensors.length > 0);
  await stage.client.placeInRoom(urn, roomId, nowMs - (days + 1) * 24 * hourMs);
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
});
