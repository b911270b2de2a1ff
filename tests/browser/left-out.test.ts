/** Readings in doubt in a real browser: shaded on the charts, said in words, looked at, believed, and left out again. */
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Climate, RoomDetail } from '../../server/contract/index.ts';
import { api } from '../support/api.ts';
import {
  addGateway,
  eventually,
  type RunningService,
  startService,
  temporaryFolder,
} from '../support/service.ts';
import { barriers, chromiumIsHere, type Device, launch, picture, sidewaysPx, visit } from './chromium.ts';

const minuteMs = 60_000;
const hourMs = 60 * minuteMs;
const urn = 'urn:dev:mac:0200000000dd01';

describe.skipIf(!chromiumIsHere)('readings left out', () => {
  const folder = temporaryFolder();
  let service: RunningService;
  let browser: Browser;
  let house: { venueId: string; roomId: string; instrumentId: string };
  let sensorId = '';
  /** Two readings, ten minutes apart, that no air explains. */
  let spikeMs = 0;

  const climate = () =>
    api(service.url).get<Climate>(
      `/api/instruments/${house.instrumentId}/climate?from=${spikeMs - 20 * hourMs}&to=${spikeMs + 5 * hourMs}&points=500`,
    );

  beforeAll(async () => {
    const { token } = addGateway(folder.path, 'attic');
    service = await startService(folder.path);
    browser = await launch();
    const client = api(service.url);
    house = await client.house();
    const nowMs = Math.floor(Date.now() / minuteMs) * minuteMs;
    spikeMs = nowMs - 5 * hourMs;
    const records: object[] = [];
    for (let timeMs = nowMs - 3 * 24 * hourMs; timeMs <= nowMs; timeMs += 10 * minuteMs) {
      const isSpike = timeMs === spikeMs || timeMs === spikeMs + 10 * minuteMs;
      const pct = isSpike ? 91 : Number((45 + 3 * Math.sin(timeMs / (4 * hourMs))).toFixed(2));
      records.push({ n: `${urn}:humidity`, u: '%RH', t: timeMs / 1_000, v: pct });
      records.push({ n: `${urn}:temperature`, u: 'Cel', t: timeMs / 1_000, v: 20 });
    }
    const headers = { 'content-type': 'application/senml+json', authorization: `Bearer ${token}` };
    expect((await client.ask('POST', '/api/readings', records, headers)).status).toBe(200);
    await eventually('it is heard', async () => (await client.sensors()).sensors.length === 1);
    await client.placeInRoom(urn, house.roomId, nowMs - 4 * 24 * hourMs);
    sensorId = (await client.sensors()).sensors[0]?.id ?? '';
    await eventually('it is looked through', async () => (await climate()).leftOut.length > 0);
  }, 120_000);
  afterAll(async () => {
    await browser?.close();
    await service?.kill('SIGTERM');
    folder.remove();
  });

  async function inBothSchemes(page: Page, name: string): Promise<void> {
    for (const scheme of ['light', 'dark'] as const) {
      await page.emulateMedia({ colorScheme: scheme });
      await picture(page, `${name}${scheme === 'dark' ? '-dark' : ''}`);
      expect(await sidewaysPx(page)).toBe(0);
      expect(await barriers(page)).toEqual([]);
    }
    await page.emulateMedia({ colorScheme: 'light' });
  }
  const plain = (text: string | null | undefined) => text?.replaceAll('\u00a0', ' ') ?? '';

  test('the answers name the stretch, the sensor and how many readings, and no others', async () => {
    const stretch = { sensorId, urn, fromMs: spikeMs, untilMs: spikeMs + 10 * minuteMs + 1, readings: 2 };
    expect((await climate()).leftOut).toEqual([stretch]);
    const room = await api(service.url).get<RoomDetail>(`/api/rooms/${house.roomId}`);
    expect(room.lastDay.leftOut).toEqual([stretch]);
    const early = await api(service.url).get<Climate>(
      `/api/instruments/${house.instrumentId}/climate?from=${spikeMs - 20 * hourMs}&to=${spikeMs}&points=500`,
    );
    expect(early.leftOut).toEqual([]);
  });

  test.each(['laptop', 'phone'] as const)('on the chart of an instrument (%s)', async (device: Device) => {
    const { page, complaints, close } = await visit(browser, device);
    await page.goto(`${service.url}/instruments/${house.instrumentId}`);
    await page.locator('.plot canvas').nth(2).waitFor();
    await page.getByRole('radio', { name: '30 d', exact: true }).check();
    await page.locator('.key.left-out').waitFor();
    expect(await page.locator('.key.left-out').textContent()).toBe('left out: in doubt');
    expect(plain(await page.locator('figcaption').textContent())).toMatch(
      /Two readings of \w{3} .+ to \d\d:\d\d are left out as in doubt: they jumped and came back\./,
    );
    await inBothSchemes(page, `left-out-instrument-${device}`);
    expect(complaints).toEqual([]);
    await close();
  });

  test('the cursor says it where it stands on it, and not beside it', async () => {
    const { page, close } = await visit(browser, 'laptop');
    await page.goto(`${service.url}/instruments/${house.instrumentId}`);
    await page.locator('.plot canvas').nth(2).waitFor();
    await page.getByRole('radio', { name: '30 d', exact: true }).check();
    await page.locator('.key.left-out').waitFor();
    await page.locator('.plots').focus();
    const spoken = page.locator('.chart [aria-live="polite"]');
    const said = new Set<string>();
    await eventually(
      'the cursor comes to it',
      async () => {
        await page.keyboard.press('ArrowLeft');
        await page.waitForFunction(
          (before) =>
            ![null, '', ...before].includes(
              document.querySelector('.chart [aria-live]')?.textContent ?? null,
            ),
          [...said],
        );
        const words = plain(await spoken.textContent());
        said.add(await spoken.textContent().then((one) => one ?? ''));
        return words.includes('readings left out: in doubt');
      },
      60_000,
    );
    // The walk began today, hours after it.
    expect(said.size).toBeGreaterThan(3);
    await close();
  }, 90_000);

  test.each(['laptop', 'phone'] as const)('on the last day of a room (%s)', async (device: Device) => {
    const { page, complaints, close } = await visit(browser, device);
    await page.goto(`${service.url}/rooms/${house.roomId}`);
    await page.locator('.day-plot .left-out').first().waitFor();
    expect(await page.locator('.day-plot').getAttribute('aria-label')).toContain(
      'Some readings are left out as in doubt.',
    );
    expect(plain(await page.locator('.day-left-out').textContent())).toContain('Two readings of');
    await inBothSchemes(page, `left-out-room-${device}`);
    expect(complaints).toEqual([]);
    await close();
  });

  test('looked at from there, believed all the same, and left out again', async () => {
    const { page, complaints, close } = await visit(browser, 'phone');
    await page.goto(`${service.url}/rooms/${house.roomId}`);
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
    const client = api(service.url);
    const sentMs = Date.now();
    const { token } = addGateway(folder.path, 'cellar');
    const record = { n: `${urn}:humidity`, u: '%RH', t: (spikeMs - 5 * minuteMs) / 1_000, v: 45 };
    const headers = { 'content-type': 'application/senml+json', authorization: `Bearer ${token}` };
    expect((await client.ask('POST', '/api/readings', [record], headers)).status).toBe(200);
    const late = { ...record, t: sentMs / 1_000, v: 99 };
    expect((await client.ask('POST', '/api/readings', [late], headers)).status).toBe(200);
    await eventually('the newest is in doubt', async () => {
      const { leftOut } = await client.get<Climate>(
        `/api/instruments/${house.instrumentId}/climate?from=${spikeMs - hourMs}&to=${sentMs + hourMs}&points=500`,
      );
      return leftOut.length === 1 && leftOut[0]?.fromMs === sentMs;
    });

    await row.nth(1).getByRole('button', { name: 'Leave out again' }).click();
    await expect.poll(() => page.getByRole('status').first().textContent()).toContain('Left out again');
    expect(most(await climate())).toBeLessThan(50);
    expect(complaints).toEqual([]);
    await close();
  }, 90_000);

  test('a sensor nobody knows, and a stretch that ends before it begins', async () => {
    const client = api(service.url);
    const nobody = '00000000-0000-4000-8000-000000000000';
    expect((await client.ask('GET', `/api/sensors/${nobody}/doubts`)).status).toBe(404);
    const body = { fromMs: spikeMs, untilMs: spikeMs - 1, believed: true };
    const answer = await client.ask('PUT', `/api/sensors/${sensorId}/doubts`, body);
    expect([answer.status, JSON.stringify(answer.body)]).toEqual([
      400,
      expect.stringContaining('untilMs: must be later than fromMs'),
    ]);
  });
});
