/** A user's path: an unknown device sends an unknown shape; it is mapped on the bench, replayed, placed, and charted. */
import { connectAsync } from 'mqtt';
import { describe, expect, test } from 'vitest';
import { eventually } from '../support/service.ts';
import { standing } from '../support/standing.ts';
import { barriers, chromiumIsHere, type Device, picture, visit } from './chromium.ts';
import { inBothSchemes } from './for-everybody.ts';
import { gatewayStage } from './stage.ts';

const nbsp = '\u00a0';
const minuteMs = 60_000;
const hourMs = 60 * minuteMs;

describe.skipIf(!chromiumIsHere)('the decode bench', { timeout: 180_000 }, () => {
  const stage = standing(gatewayStage);

  async function send(messages: readonly unknown[]): Promise<void> {
    const client = await connectAsync(`mqtt://127.0.0.1:${stage.service.mqttPort}`, {
      username: stage.gateway.user,
      password: stage.gateway.password,
    });
    for (const message of messages) {
      const text = typeof message === 'string' ? message : JSON.stringify(message);
      await client.publishAsync('readings/attic/uplink', text, { qos: 1 });
    }
    await client.endAsync();
  }

  /** As the first story leaves it, for those that begin there. */
  const mapped = () =>
    stage.client.put('/api/gateways/attic/profile', {
      ...{ kind: 'mapped', sensor: '/node/serial', prefix: 'field:', time: { at: '/seen', as: 'iso' } },
      values: [
        { at: '/air/temp_f', quantity: 'temperatureC', unit: 'degF', scale: 0.1 },
        { at: '/air/moisture', quantity: 'humidityPct', unit: 'ratio' },
      ],
    });

  test('refused, mapped, replayed, placed; its past stands in the chart', async () => {
    const { client } = stage;
    const { roomId, instrumentId } = await client.house();
    const firstMs = Date.now() - 30 * hourMs;
    const messages = Array.from({ length: 60 }, (_, i) => ({
      node: { serial: 'QX-0117', firmware: '2.1' },
      seen: new Date(firstMs + i * 30 * minuteMs).toISOString(),
      // 69.8 °F is 21 °C; humidity goes from 40 to 52 % as a ratio.
      air: { temp_f: 698, moisture: Number((0.4 + (0.12 * i) / 59).toFixed(4)) },
    }));
    await send(messages);

    const { page, complaints, close } = await visit(stage.browser, 'laptop', { timeZone: 'Europe/Vienna' });
    await page.goto(`${stage.service.url}/sensors`);
    await page.locator('h1', { hasText: 'Something came in, but no reading yet' }).waitFor();
    const refused = page.locator('.refused');
    await expect.poll(() => refused.textContent()).toContain('It is JSON of an unknown shape');
    expect(await refused.textContent()).toContain('60');
    await picture(page, 'bench-refused-laptop');
    await refused.getByRole('link', { name: 'Look at them on the bench' }).click();

    // What the bench guesses of the message is close; what it makes of it shows place by place.
    const outcome = page.locator('.bench-outcome');
    await expect.poll(() => outcome.textContent()).toContain('/air/moisture');
    expect(await page.getByLabel('The sensor’s name stands at').inputValue()).toBe('/node/serial');
    expect(await page.getByLabel('The time stands at').inputValue()).toBe('/seen');
    await page.getByLabel('Put before that name').fill('field:');
    await expect.poll(() => outcome.textContent()).toContain('field:QX-0117');
    // A wrong place says so at once, and nothing can be lost by it.
    const temperature = page.getByRole('group', { name: 'Value 1' });
    expect(await temperature.getByLabel('At', { exact: true }).inputValue()).toBe('/air/temp_f');
    await temperature.getByLabel('At', { exact: true }).fill('/air/temp_c');
    await expect.poll(() => outcome.textContent()).toContain('nothing stands there');
    await temperature.getByLabel('At', { exact: true }).fill('/air/temp_f');
    await expect.poll(() => outcome.textContent()).toContain(`21.0${nbsp}°C`);
    expect(await outcome.textContent()).toContain(`52.0${nbsp}%`);
    await picture(page, 'bench-mapped-laptop');
    expect(await barriers(page)).toEqual([]);

    await page.getByRole('button', { name: 'Read attic like this from now on' }).click();
    await expect.poll(() => outcome.textContent()).toContain('are read like this from now on');
    await page.getByRole('button', { name: 'Read again what was set aside (60)' }).click();
    await expect
      .poll(() => outcome.textContent())
      .toContain('60 messages read: 120 values stored. Nothing stays set aside.');
    await picture(page, 'bench-replayed-laptop');

    await eventually('the watch has noted it', async () =>
      (await client.sensors()).sensors.some(({ urn }) => urn === 'field:QX-0117'),
    );
    await page.getByRole('link', { name: 'To the sensors' }).click();
    await page.getByRole('link', { name: 'Place field:QX-0117' }).click();
    // What was read is no longer told of as set aside.
    expect(await refused.count()).toBe(0);
    await page.getByRole('button', { name: 'Save its place' }).click();
    await page.locator('.place-form').waitFor({ state: 'detached' });
    const { sensors } = await client.sensors();
    const placed = sensors.find(({ urn }) => urn === 'field:QX-0117')?.placement;
    expect(placed?.roomId).toBe(roomId);
    // It has hung there since the hour it was first heard, which is not when it was mapped.
    expect(placed?.fromMs).toBeLessThanOrEqual(firstMs);
    expect(placed?.fromMs).toBeGreaterThan(firstMs - hourMs);

    await page.goto(`${stage.service.url}/instruments/${instrumentId}`);
    await page.locator('.plot canvas').first().waitFor();
    await page.getByText('The same as a table').click();
    // 30 hours of the past in the chart's own table: from 40 to 52 %, at 21 °C.
    const table = page.locator('.chart table').first();
    await expect.poll(() => table.textContent(), { timeout: 30_000 }).toContain(`21.0${nbsp}°C`);
    const climate = await client.get<{ room: { humidityPct: (number | null)[] } | null }>(
      `/api/instruments/${instrumentId}/climate?from=${firstMs}&to=${Date.now()}&points=1000`,
    );
    const humid = (climate.room?.humidityPct ?? []).filter((one) => one !== null);
    expect(humid.length).toBeGreaterThanOrEqual(28);
    expect(Math.min(...humid)).toBeLessThan(41);
    expect(Math.max(...humid)).toBeGreaterThan(51);
    await picture(page, 'bench-charted-laptop');
    expect(complaints).toEqual([]);
    await close();
  });

  test('what comes after is read by the same profile; by keyboard alone a pasted message is tried', async () => {
    await mapped();
    await send([
      { node: { serial: 'QX-0118' }, seen: new Date().toISOString(), air: { temp_f: 680, moisture: 0.5 } },
    ]);
    await eventually('the newcomer', async () =>
      (await stage.client.sensors()).sensors.some(
        ({ urn, last }) => urn === 'field:QX-0118' && last?.temperatureC === 20,
      ),
    );
    const { page, close } = await stage.open('/sensors/bench?gateway=attic');
    await page.getByLabel('As it was sent').focus();
    await page.keyboard.type('{"node":{"serial":"A1"},"seen":"2026-01-05T10:00:00Z","air":{"moisture":4}}');
    await expect
      .poll(() => page.locator('.bench-outcome').textContent())
      .toContain('humidity 400 % is outside 0 to 100 %');
    await page.getByLabel('Begin with').focus();
    await page.keyboard.press('ArrowDown');
    await expect.poll(() => page.getByLabel('The sensor’s name stands at').inputValue()).toBe('/device');
    await close();
  });

  test('a profile that breaks a rule is refused in words, and the page keeps what was typed', async () => {
    await mapped();
    const { page, close } = await stage.open('/sensors/bench?gateway=attic');
    await page.getByLabel('As it was sent').fill('{"rh":41}');
    await page.getByLabel('The sensor’s name stands at').fill('no pointer');
    await expect
      .poll(() => page.locator('.bench-outcome').textContent())
      .toContain('must be a JSON Pointer such as /data/humidity');
    await page.getByRole('button', { name: /^Read attic like this/ }).click();
    await expect.poll(() => page.locator('.bench-outcome .trouble').textContent()).toContain('Not done');
    expect(await page.getByLabel('The sensor’s name stands at').inputValue()).toBe('no pointer');
    await close();
  });

  test('SenML with a clock that is ahead is SenML all the same: no other reading of it is put forward', async () => {
    await stage.client.put('/api/gateways/attic/profile', { kind: 'senml' });
    await send([[{ n: 'late-1', u: '%RH', v: 41, t: Date.now() / 1000 + 3_600 }]]);
    const { page, close } = await stage.open('/sensors/bench?gateway=attic&reason=time-ahead');
    await expect
      .poll(() => page.locator('.bench-outcome').textContent())
      .toContain('is more than 5 minutes ahead');
    await page.getByRole('button', { name: 'attic is read like this' }).waitFor();
    expect(await page.getByRole('button', { name: /^Read again what was set aside/ }).isEnabled()).toBe(true);
    await close();
  });

  for (const device of ['phone', 'laptop'] as const satisfies readonly Device[]) {
    test(`on a ${device}, in light and dark: no barrier, no sideways scroll`, async () => {
      await mapped();
      await send([{ node: { serial: 'QX-0117' }, seen: 'yesterday', air: { temp_f: 'warm' } }]);
      const { page, close } = await stage.open('/sensors/bench?gateway=attic', device);
      await expect.poll(() => page.locator('.bench-outcome').textContent()).toContain('is no time');
      await inBothSchemes(page, `bench-${device}`);
      await close();
    });
  }
});
