/** The page of an instrument shows the very figures by which its notice was decided. */
import { randomUUID } from 'node:crypto';
import { expect, test } from 'vitest';
import type { Pitch } from '../../server/contract/index.ts';
import { tuning } from '../support/api.ts';
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
  // Six weeks at 48 %, then four at 36 %, an hourly value each.
  const pack = Array.from({ length: 70 * 24 }, (_, i) => {
    const hoursAgo = 70 * 24 - i;
    const t = Math.round(nowMs / 1000) - hoursAgo * 3600 + 1800;
    const v = (hoursAgo > 28 * 24 ? 48 : 36) + 0.5 * Math.sin(i / 4);
    return [
      { n: `${urn}:humidity`, u: '%RH', v, t },
      { n: `${urn}:temperature`, u: 'Cel', v: 20.5, t },
    ];
  });
  for (let i = 0; i < pack.length; i += 1000) {
    const { status } = await client.ask('POST', '/api/readings', pack.slice(i, i + 1000).flat(), {
      'content-type': 'application/senml+json',
      authorization: `Bearer ${stage.gateway.token}`,
    });
    expect(status).toBeLessThan(300);
  }
  await eventually('the sensor is known', async () =>
    (await client.sensors()).sensors.some((one) => one.urn === urn),
  );
  await client.placeInRoom(urn, roomId, nowMs - 71 * dayMs);
  await client.put(`/api/visits/${randomUUID()}`, tuning(instrumentId, nowMs - 40 * dayMs));
  const page = await eventually('the pitch is out', async () => {
    const now = await client.instrument(instrumentId);
    return now.notices.some((one) => one.rule === 'pitch-out') && now;
  });
  const notice = page.notices.find((one) => one.rule === 'pitch-out');
  expect(notice?.evidence).toMatchObject({
    'chance out of tolerance now': page.whole?.beyond,
    'level, cents': page.whole?.levelCents,
  });
  const farthest = page.registers.toSorted(
    (a, b) => Math.abs(b.offsetCents ?? 0) - Math.abs(a.offsetCents ?? 0),
  )[0];
  expect(notice?.what).toContain(farthest?.register);
  const pitch = await client.get<Pitch>(`/api/instruments/${instrumentId}/pitch?points=50`);
  expect(pitch.whole?.beyond).toBeCloseTo(page.whole?.beyond ?? 0, 1);
  expect(pitch.whole?.levelCents).toBeCloseTo(page.whole?.levelCents ?? 0, 0);
});
