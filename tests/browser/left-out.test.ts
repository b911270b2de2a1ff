/** Readings in doubt in a real browser: shaded on the charts, said in words, looked at, believed, and left out again. */
import { describe, expect, test } from 'vitest';
import type { Climate, RoomDetail } from '../../server/contract/index.ts';
import { moments } from '../../web/words/times.ts';
import { plain } from '../support/plain.ts';
import { addGateway, eventually } from '../support/service.ts';
import { standing } from '../support/standing.ts';
import { showStretch } from './chart-hands.ts';
import { chromiumIsHere, type Device } from './chromium.ts';
import { inBothSchemes } from './for-everybody.ts';
import { askAgain, gatewayStage, type Stage } from './stage.ts';

const minuteMs = 60_000;
const hourMs = 60 * minuteMs;
const urn = 'urn:dev:mac:0200000000dd01';

/** The hours about two readings, ten minutes apart, that no air explains. */
const climateOf = (client: Stage['client'], instrumentId: string, spikeMs: number) =>
  client.get<Climate>(
    `/api/instruments/${instrumentId}/climate?from=${spikeMs - 20 * hourMs}&to=${spikeMs + 5 * hourMs}&points=500`,
  );

describe.skipIf(!chromiumIsHere)('readings left out', { timeout: 120_000 }, () => {
  const stage = standing(async (undo) => {
    const stage = await gatewayStage(undo);
    const { client, gateway } = stage;
    const house = await client.house();
    const nowMs = Math.floor(Date.now() / minuteMs) * minuteMs;
    const spikeMs = nowMs - 5 * hourMs;
    const records: object[] = [];
    for (let timeMs = nowMs - 3 * 24 * hourMs; timeMs <= nowMs; timeMs += 10 * minuteMs) {
      const isSpike = timeMs === spikeMs || timeMs === spikeMs + 10 * minuteMs;
      const pct = isSpike ? 91 : Number((45 + 3 * Math.sin(timeMs / (4 * hourMs))).toFixed(2));
      records.push({ n: `${urn}:humidity`, u: '%RH', t: timeMs / 1_000, v: pct });
      records.push({ n: `${urn}:temperature`, u: 'Cel', t: timeMs / 1_000, v: 20 });
    }
    expect((await client.sendPack(gateway.token, records)).status).toBe(200);
    await eventually('it is heard', async () => (await client.sensors()).sensors.length === 1);
    await client.placeInRoom(urn, house.roomId, nowMs - 4 * 24 * hourMs);
    const sensorId = (await client.sensors()).sensors[0]?.id ?? '';
    await eventually(
      'it is looked through',
      async () => (await climateOf(client, house.instrumentId, spikeMs)).leftOut.length > 0,
      60_000,
    );
    return { ...stage, house, sensorId, spikeMs };
  });
  const climate = () => climateOf(stage.client, stage.house.instrumentId, stage.spikeMs);

  test('the answers name the stretch, the sensor and how many readings, and no others', async () => {
    const stretch = {
      sensorId: stage.sensorId,
      urn,
      fromMs: stage.spikeMs,
      untilMs: stage.spikeMs + 10 * minuteMs + 1,
      readings: 2,
    };
    expect((await climate()).leftOut).toEqual([stretch]);
    const room = await stage.client.get<RoomDetail>(`/api/rooms/${stage.house.roomId}`);
    expect(room.lastDay.leftOut).toEqual([stretch]);
    const early = await stage.client.get<Climate>(
      `/api/instruments/${stage.house.instrumentId}/climate?from=${stage.spikeMs - 20 * hourMs}&to=${stage.spikeMs}&points=500`,
    );
    expect(early.leftOut).toEqual([]);
  });

  test.each(['laptop', 'phone'] as const)('on the chart of an instrument (%s)', async (device: Device) => {
    const { page, complaints, close } = await stage.open(`/instruments/${stage.house.instrumentId}`, device);
    await page.locator('.plot canvas').nth(2).waitFor();
    await showStretch(page, '30 d');
    await page.locator('.key.left-out').waitFor();
    expect(await page.locator('.key.left-out').textContent()).toBe('left out: in doubt');
    // By the venue's clock; the day is said twice where midnight lies between.
    const when = moments(stage.spikeMs, stage.spikeMs + 10 * minuteMs, 'Europe/Vienna');
    expect(plain(await page.locator('figcaption').textContent())).toContain(
      `Two readings of ${plain(when)} are left out as in doubt: they jumped and came back.`,
    );
    await inBothSchemes(page, `left-out-instrument-${device}`);
    expect(complaints).toEqual([]);
    await close();
  });

  test('the cursor says it where it stands on it, and not beside it', async () => {
    const { page, close } = await stage.open(`/instruments/${stage.house.instrumentId}`);
    await page.locator('.plot canvas').nth(2).waitFor();
    // A step of the year would be a third of a day.
    await showStretch(page, '30 d');
    await page.locator('.key.left-out').waitFor();
    await page.locator('.plots').focus();
    const spoken = page.locator('.chart [aria-live="polite"]');
    const stands = page.locator('.plot-now').first().locator('span').first();
    const said: string[] = [];
    await eventually(
      'the cursor comes to it',
      async () => {
        const before = await stands.textContent();
        await page.keyboard.press('ArrowLeft');
        // It is spoken of once the cursor rests: each place is, before the next step.
        await expect
          .poll(async () => {
            const at = await stands.textContent();
            return at !== before && (await spoken.textContent())?.startsWith(at ?? '');
          })
          .toBe(true);
        said.push(plain(await spoken.textContent()));
        return said.at(-1)?.includes('readings left out: in doubt');
      },
      90_000,
    );
    // The walk began today, hours after it.
    expect(said.length).toBeGreaterThan(3);
    await close();
  });

  test.each(['laptop', 'phone'] as const)('on the last day of a room (%s)', async (device: Device) => {
    const { page, complaints, close } = await stage.open(`/rooms/${stage.house.roomId}`, device);
    await page.locator('.day-plot .left-out').first().waitFor();
    expect(await page.locator('.day-plot').getAttribute('aria-label')).toContain(
      'Some readings are left out as in doubt.',
    );
    expect(plain(await page.locator('.day-left-out').textContent())).toContain('Two readings of');
    await inBothSchemes(page, `left-out-room-${device}`);
    expect(complaints).toEqual([]);
    await close();
  });

  test('from the list of sensors', async () => {
    const { page, complaints, close } = await stage.open('/sensors', 'laptop');
    await page.getByRole('link', { name: `Two readings left out of ${urn}` }).click();
    await page.getByRole('heading', { name: 'Readings in doubt' }).waitFor();
    expect(complaints).toEqual([]);
    await close();
  });

  test('looked at from there, believed all the same, and left out again', async () => {
    const { page, complaints, close } = await stage.open(`/rooms/${stage.house.roomId}`, 'phone');
    await page.locator('.day-left-out a').click();
    await page.getByRole('heading', { name: 'Readings in doubt' }).waitFor();
    const row = page.locator('.doubts li');
    expect(plain(await row.textContent())).toMatch(/Two readings of 91\.0 %, .*: left out/);
    await inBothSchemes(page, 'left-out-sensor-phone');
    const before = await climate();
    const most = ({ room }: Climate) => Math.max(...(room?.humidityPct ?? []).filter((one) => one !== null));
    expect(most(before)).toBeLessThan(50);

    await row.getByRole('button', { name: 'Believe all the same' }).click();
    await expect.poll(() => row.textContent()).toContain('believed');
    await expect.poll(() => page.getByRole('status').first().textContent()).toContain('They count now');
    const believed = await climate();
    expect(believed.leftOut).toEqual([]);
    expect(most(believed)).toBeGreaterThan(80);
    // Whoever looks through what arrives finds them again, and leaves them believed.
    const { client } = stage;
    const sentMs = Date.now();
    const { token } = addGateway(stage.folder, 'cellar');
    const record = { n: `${urn}:humidity`, u: '%RH', t: (stage.spikeMs - 5 * minuteMs) / 1_000, v: 45 };
    expect((await client.sendPack(token, [record])).status).toBe(200);
    const late = { ...record, t: sentMs / 1_000, v: 99 };
    expect((await client.sendPack(token, [late])).status).toBe(200);
    await eventually('the newest is in doubt', async () => {
      const { leftOut } = await client.get<Climate>(
        `/api/instruments/${stage.house.instrumentId}/climate?from=${stage.spikeMs - hourMs}&to=${sentMs + hourMs}&points=500`,
      );
      return leftOut.length === 1 && leftOut[0]?.fromMs === sentMs;
    });

    await askAgain(page);
    await row.nth(1).getByRole('button', { name: 'Leave out again' }).click();
    await expect.poll(() => page.getByRole('status').first().textContent()).toContain('Left out again');
    expect(most(await climate())).toBeLessThan(50);
    expect(complaints).toEqual([]);
    await close();
  });

  test('a sensor nobody knows, and a stretch that ends before it begins', async () => {
    const { client } = stage;
    const nobody = '00000000-0000-4000-8000-000000000000';
    expect((await client.ask('GET', `/api/sensors/${nobody}/doubts`)).status).toBe(404);
    const body = { fromMs: stage.spikeMs, untilMs: stage.spikeMs - 1, believed: true };
    const answer = await client.ask('PUT', `/api/sensors/${stage.sensorId}/doubts`, body);
    expect([answer.status, JSON.stringify(answer.body)]).toEqual([
      400,
      expect.stringContaining('untilMs: must be later than fromMs'),
    ]);
  });
});
