/** Sensors in a real browser: put right by salt jars, replaced with a day together, and a logger's file brought in. */
import { writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import type { CalibrationPage } from '../../server/contract/index.ts';
import { eventually } from '../support/service.ts';
import { standing } from '../support/standing.ts';
import { barriers, chromiumIsHere, type Device, picture, visit } from './chromium.ts';
import { inBothSchemes } from './for-everybody.ts';
import { gatewayStage } from './stage.ts';

const nbsp = '\u00a0';
const hourMs = 3_600_000;
const dayMs = 24 * hourMs;
const old = 'urn:dev:mac:0200000000aa01';
const fresh = 'urn:dev:mac:0200000000aa02';
/** Reads three points low, and its clock an hour behind. */
const truth = (timeMs: number): number => 45 + 4 * Math.sin(timeMs / (6 * hourMs));

// On a busy machine a page takes its time, and so does the service that works out anew.
const patiently = { timeout: 90_000 };

describe.skipIf(!chromiumIsHere)('sensors', { timeout: 240_000 }, () => {
  function pack(urn: string, fromMs: number, toMs: number, off: number): object[] {
    const records: object[] = [];
    for (let timeMs = fromMs; timeMs < toMs; timeMs += 600_000) {
      const v = Number((truth(timeMs) + off).toFixed(2));
      records.push({ n: `${urn}:humidity`, u: '%RH', t: timeMs / 1000, v });
      records.push({ n: `${urn}:temperature`, u: 'Cel', t: timeMs / 1000, v: 20 });
    }
    return records;
  }
  const stage = standing(async (undo) => {
    const stage = await gatewayStage(undo);
    const { client, gateway } = stage;
    const send = async (records: object[]) => {
      expect((await client.sendPack(gateway.token, records)).status).toBe(200);
    };
    const house = await client.house();
    const nowMs = Date.now();
    await send(pack(old, nowMs - 10 * dayMs, nowMs, 0));
    await eventually('the first is heard', async () => (await client.sensors()).sensors.length === 1);
    await client.placeInRoom(old, house.roomId, nowMs - 10 * dayMs);
    await send(pack(fresh, nowMs - 3 * dayMs, nowMs, -3));
    await eventually('the second is heard', async () => (await client.sensors()).sensors.length === 2);
    return { ...stage, house };
  });
  const idOf = async (urn: string) => {
    const { sensors } = await stage.client.sensors();
    const found = sensors.find((one) => one.urn === urn);
    if (!found) throw new Error(urn);
    return found.id;
  };
  const roomAir = async (fromMs: number, toMs: number) => {
    const climate = await stage.client.get<{
      timesMs: number[];
      room: { humidityPct: (number | null)[] } | null;
    }>(`/api/instruments/${stage.house.instrumentId}/climate?from=${fromMs}&to=${toMs}&points=2000`);
    return climate.room?.humidityPct.filter((one) => one !== null) ?? [];
  };

  test('replaced by another with a day together; the difference is offered, kept, and the step is gone', async () => {
    const { page, complaints, close } = await visit(stage.browser, 'laptop', { timeZone: 'Europe/Vienna' });
    const nowMs = Date.now();
    await page.goto(`${stage.service.url}/sensors?place=${await idOf(old)}`);
    await page.getByRole('radio', { name: 'replaced' }).check();
    expect(await page.getByLabel('By', { exact: true }).inputValue()).toBe(await idOf(fresh));
    const since = new Date(nowMs - 2 * dayMs - 12 * hourMs);
    const local = new Intl.DateTimeFormat('sv-SE', {
      ...{ timeZone: 'Europe/Vienna', dateStyle: 'short', timeStyle: 'short' },
    })
      .format(since)
      .replace(' ', 'T');
    await page.getByLabel('The new one stands there since').fill(local);
    await picture(page, 'sensor-replaced-laptop');
    expect(await barriers(page)).toEqual([]);
    await page.getByRole('button', { name: 'Replace it' }).click();
    await page.locator('.place-form').waitFor({ state: 'detached' });

    // Alone, the new one reads three points low.
    const [fromMs, toMs] = [nowMs - 20 * hourMs, nowMs - 4 * hourMs];
    const mean = (values: readonly number[]) => values.reduce((sum, one) => sum + one, 0) / values.length;
    const right = (await Promise.all([roomAir(fromMs, toMs)]))[0] ?? [];
    await page.goto(`${stage.service.url}/sensors/calibrate/${await idOf(fresh)}`);
    const offer = page.locator('section', { hasText: 'Beside another' });
    await expect.poll(() => offer.textContent(), patiently).toContain('3.0 points less');
    await offer.getByRole('button', { name: 'Read it like the other from then on' }).click();
    await expect
      .poll(() => page.getByRole('status').first().textContent(), patiently)
      .toContain('worked out anew');
    const put = await roomAir(fromMs, toMs);
    expect(put.length).toBe(right.length);
    expect(mean(put) - mean(right)).toBeCloseTo(3, 1);
    await expect
      .poll(() => page.locator('section', { hasText: 'Kept so far' }).textContent())
      .toContain(`+3.0${nbsp}points`);
    await inBothSchemes(page, 'calibrate-beside-laptop');

    // What was said in error is taken back by a later entry, and both stay to be seen.
    await page.getByRole('button', { name: /^Take it back/ }).click();
    await expect
      .poll(() => page.locator('section', { hasText: 'Kept so far' }).textContent(), patiently)
      .toContain('taken back by a later entry');
    expect(mean(await roomAir(fromMs, toMs))).toBeCloseTo(mean(right), 6);
    expect(complaints).toEqual([]);
    await close();
  });

  for (const device of ['phone', 'laptop'] as const satisfies readonly Device[]) {
    test(`salt jars on a ${device}: cautions first, what they come to is seen, then kept from a date`, async () => {
      const { page, close } = await visit(stage.browser, device, { timeZone: 'Europe/Vienna' });
      await page.goto(`${stage.service.url}/sensors/calibrate/${await idOf(old)}`);
      const form = page.getByRole('form', { name: 'Salt jars' });
      await form.waitFor();
      expect(await page.locator('.caution').first().textContent()).toContain('Lithium chloride is poisonous');
      const jar = (number: number) => page.getByRole('group', { name: `Jar ${number}` });
      await jar(1).getByLabel('Temperature of the jar').fill('25');
      await jar(2).getByLabel('Temperature of the jar').fill('25');
      // Greenspan 1977 at 25 °C: magnesium chloride 32.78 %, sodium chloride 75.29 %.
      await expect.poll(() => jar(1).textContent()).toContain(`32.8${nbsp}%`);
      await expect.poll(() => jar(2).textContent()).toContain(`75.3${nbsp}%`);
      await page.getByRole('button', { name: 'Keep this calibration' }).click();
      await expect.poll(() => jar(1).locator('.fault').textContent()).toContain('A number is needed');
      await jar(1).getByLabel('The sensor sent').fill('34.78');
      await jar(2).getByLabel('The sensor sent').fill('79.29');
      // Two points and four points too high: gain 42.51/44.51, so that 34.78 is read as 32.78.
      const gain = 42.51 / 44.51;
      await expect.poll(() => page.locator('.trial').textContent()).toContain(`${gain.toFixed(3)} ×`);
      expect(await page.locator('.trial').textContent()).toContain('2.0 points too high at 33');
      expect(await page.locator('.trial').textContent()).toContain('4.0 points too high at 75');
      await inBothSchemes(page, `calibrate-${device}`);
      await page.getByRole('button', { name: 'Keep this calibration' }).click();
      await expect
        .poll(() => page.getByRole('status').first().textContent(), patiently)
        .toContain('worked out anew');
      const kept = await stage.client.get<CalibrationPage>(`/api/sensors/${await idOf(old)}/calibrations`);
      expect(kept.calibrations[0]?.gain).toBeCloseTo(gain, 9);
      await page.goto(`${stage.service.url}/sensors`);
      await expect
        .poll(() => page.locator('main').textContent())
        .toContain(`Put right by ×${nbsp}${gain.toFixed(3)}`);
      await inBothSchemes(page, `sensors-put-right-${device}`);
      await close();
    });
  }

  test('a logger’s file: guessed, shown, stopped by a service that dies, gone on with, and nothing twice', async () => {
    const file = path.join(stage.folder, 'attic store.csv');
    const rows = Array.from({ length: 30_000 }, (_, i) => {
      const at = new Date(Date.UTC(2025, 0, 1) + i * 600_000).toISOString();
      const [date, clock] = [at.slice(0, 10).split('-').reverse().join('.'), at.slice(11, 16)];
      const bad = i === 20_000 ? 'kaputt' : (45 + (i % 40) / 10).toFixed(1).replace('.', ',');
      return `${date} ${clock};${bad};20,5`;
    });
    writeFileSync(file, `Datum;Feuchte;Temperatur\n${rows.join('\n')}\n`);
    const { page, close } = await visit(stage.browser, 'laptop', { timeZone: 'Europe/Vienna' });
    await page.goto(`${stage.service.url}/sensors/file`);
    await page.getByLabel('The file').setInputFiles(file);
    await expect.poll(() => page.getByLabel('Columns are cut by').inputValue(), patiently).toBe(';');
    expect(await page.getByLabel('Decimals are cut off by a comma').isChecked()).toBe(true);
    expect(await page.getByLabel('Its name').inputValue()).toBe('attic-store');
    // The clock of this logger stands at UTC; the preview says what that comes to.
    await page.getByLabel('Its clock stands in').fill('UTC');
    const preview = page.locator('section', { hasText: 'So it would be read' });
    await expect
      .poll(() => preview.locator('tbody tr').first().textContent(), patiently)
      .toMatch(/1\sJan\s2025, 01:00/);
    await inBothSchemes(page, 'logger-file-laptop');
    // All but the first parts wait until the service is gone: else a fast machine is done before.
    let letGo = (): void => undefined;
    const isGone = new Promise<void>((resolve) => {
      letGo = resolve;
    });
    let parts = 0;
    await page.route('**/api/logger-files/part', async (route) => {
      parts += 1;
      if (parts > 2) await isGone;
      await route.continue();
    });
    await page.getByRole('button', { name: 'Bring it in' }).click();
    const progress = page.getByRole('region', { name: 'Progress' });
    await expect.poll(() => progress.textContent(), patiently).toMatch(/stored/);
    await stage.service.restart('SIGKILL', async () => {
      letGo();
      await expect
        .poll(() => progress.textContent(), patiently)
        .toContain('Stopped: The service does not answer.');
      await page.unroute('**/api/logger-files/part');
    });
    await page.getByRole('button', { name: 'Go on' }).click();
    await expect.poll(() => progress.textContent(), patiently).toContain('All of it is in');
    expect(await progress.textContent()).toContain('30000 rows read');
    expect(await progress.textContent()).toContain('20002');
    expect(await progress.textContent()).toContain('humidity “kaputt” is not a number');
    await picture(page, 'logger-file-done-laptop');
    await page.getByRole('button', { name: 'Bring it in again from the start' }).click();
    await expect.poll(() => progress.textContent(), patiently).toContain('All of it is in');
    expect(await progress.textContent()).toContain('no values stored, 59999 there already');
    await close();

    const phone = await visit(stage.browser, 'phone', { timeZone: 'Europe/Vienna' });
    await phone.page.goto(`${stage.service.url}/sensors/file`);
    await phone.page.getByLabel('The file').setInputFiles(file);
    await phone.page.getByLabel('Columns are cut by').waitFor();
    await inBothSchemes(phone.page, 'logger-file-phone');
    await phone.close();
  });

  test('a clock that does not follow summer time is told by the hour it should have skipped', async () => {
    const file = path.join(stage.folder, 'winter.csv');
    const rows = Array.from({ length: 6 * 24 * 20 }, (_, i) => {
      // UTC+1 all year, over the 29th of March 2026, when Vienna's clocks go from 02:00 to 03:00.
      const at = new Date(Date.UTC(2026, 2, 15, 1) + i * 600_000).toISOString();
      return `${at.slice(0, 10)} ${at.slice(11, 16)};45.0;20.5`;
    });
    writeFileSync(file, `time;humidity;temperature\n${rows.join('\n')}\n`);
    const { page, close } = await visit(stage.browser, 'laptop', { timeZone: 'Europe/Vienna' });
    await page.goto(`${stage.service.url}/sensors/file`);
    const [empty, workbook] = ['empty.csv', 'winter.xlsx'].map((name) => path.join(stage.folder, name));
    writeFileSync(empty ?? '', '');
    writeFileSync(workbook ?? '', Buffer.from([0x50, 0x4b, 3, 4]));
    for (const [one, words] of [
      [empty, 'This file is empty'],
      [workbook, 'save its sheet as CSV'],
    ] as const) {
      await page.getByLabel('The file').setInputFiles(one ?? '');
      await expect.poll(() => page.getByRole('alert').first().textContent()).toContain(words);
    }
    await page.getByLabel('The file').setInputFiles(file);
    const preview = page.locator('section', { hasText: 'So it would be read' });
    await expect
      .poll(() => preview.textContent(), patiently)
      .toContain('its clock is taken not to follow summer time');
    expect(await page.getByLabel('Its clock stands in').inputValue()).toBe('UTC+1');
    await expect.poll(() => preview.textContent(), patiently).toContain('2880 rows in all');
    expect(await preview.textContent()).toContain('each can be read');
    await picture(page, 'logger-file-winter-laptop');

    // Cut otherwise, its columns are others; and the next file of a logger begins as the one before.
    await page.getByLabel('Columns are cut by').selectOption(',');
    await expect
      .poll(() => page.getByLabel('Humidity stands in').locator('option').allTextContents())
      .toEqual(['none', 'column 1']);
    const next = path.join(stage.folder, 'spring.csv');
    writeFileSync(next, `time;humidity;temperature\n${rows.join('\n')}\n2026-04-05 00:00;46.0;20.5\n`);
    await page.getByLabel('The file').setInputFiles(next);
    await expect.poll(() => preview.textContent(), patiently).toContain('2881 rows in all');
    await close();
  });
});
