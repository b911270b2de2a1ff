/** A fresh service leads by hand to the first sentence about an instrument: everything is entered through the pages. */
import { randomUUID } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import { api, instrumentBody, roomBody } from '../support/api.ts';
import { addGateway, eventually, startService, temporaryFolder } from '../support/service.ts';
import { standing } from '../support/standing.ts';
import { barriers, chromiumIsHere, picture, visit } from './chromium.ts';
import { askAgain, gatewayStage } from './stage.ts';

const urn = 'urn:dev:mac:0200000000dd01';

describe.skipIf(!chromiumIsHere)('a fleet of one’s own', { timeout: 180_000 }, () => {
  const stage = standing(gatewayStage);

  test('venue, room, instrument, gateway, sensor, place', async () => {
    const { page, complaints, close } = await visit(stage.browser, 'phone', { timeZone: 'Europe/Lisbon' });
    await page.goto(stage.service.url);
    await page.getByRole('link', { name: 'Enter a venue' }).click();
    // The zone of the device stands there already.
    expect(await page.getByLabel('Time zone').inputValue()).toBe('Europe/Lisbon');
    await page.getByLabel('Name').fill('Quillhaven Academy');
    await page.getByLabel('Time zone').fill('Europe/Nowhere');
    await page.getByRole('button', { name: 'Save the venue' }).click();
    await expect.poll(() => page.locator('.fault').textContent()).toContain('IANA');
    await page.getByLabel('Time zone').fill('Europe/Vienna');
    await page.getByRole('button', { name: 'Save the venue' }).click();

    await page.locator('h1', { hasText: 'A room' }).waitFor();
    await page.getByLabel('Name').fill('Room 3');
    await page.getByLabel('from').fill('60');
    await page.getByRole('button', { name: 'Save the room' }).click();
    // 60 to 52 % is no band.
    await expect.poll(() => page.locator('.fault').textContent()).toContain('above the lower end');
    await page.getByLabel('from').fill('38');
    await page.getByRole('button', { name: 'Save the room' }).click();

    await page.locator('h1', { hasText: 'An instrument' }).waitFor();
    await page.getByLabel('Name').fill('Upright 124 cm');
    await page.getByRole('radio', { name: 'Upright', exact: true }).check();
    await page.getByLabel('Height').fill('124');
    await page.getByLabel('Used for').selectOption('practice');
    await page.getByRole('button', { name: 'Save the instrument' }).click();
    await page.locator('h1', { hasText: 'Upright 124 cm' }).waitFor();
    expect(page.url()).toMatch(/\/instruments\/[0-9a-f-]{36}$/);
    const instrumentUrl = page.url();

    await page.goto(`${stage.service.url}/sensors`);
    await page.locator('h1', { hasText: 'No sensor has been heard yet' }).waitFor();
    expect(await page.locator('pre').first().textContent()).toContain('gateway add');
    await picture(page, 'first-sensors-phone');
    const sent = await stage.client.ask(
      'POST',
      '/api/readings',
      [
        { bn: `${urn}:`, n: 'humidity', u: '%RH', v: 38.5 },
        { n: 'temperature', u: 'Cel', v: 21 },
      ],
      { 'content-type': 'application/senml+json', authorization: `Bearer ${stage.gateway.token}` },
    );
    expect(sent.status).toBeLessThan(300);
    // Nobody reloads: the page asks again by itself, less often where the machine is slow to answer.
    await page.getByRole('link', { name: `Place ${urn}` }).click({ timeout: 90_000 });
    await page.getByRole('button', { name: 'Save its place' }).click();
    await page.locator('.place-form').waitFor({ state: 'detached' });
    const id = new URL(instrumentUrl).pathname.split('/').at(-1) ?? '';
    await eventually('the watch has looked at it', async () => {
      const { room, advice } = await stage.client.instrument(id);
      return room !== null && !advice.sentence.includes('No sensor stands');
    });
    await page.goto(instrumentUrl);
    await expect.poll(() => page.locator('.numbers').textContent()).toContain('39\u00a0% · 21.0\u00a0°C');
    expect(await page.locator('.advice').textContent()).not.toContain('No sensor stands');
    await picture(page, 'first-instrument-phone');
    expect(await barriers(page)).toEqual([]);
    expect(complaints.filter((one) => !/\b4\d\d\b/.test(one))).toEqual([]);
    await close();
  });

  test('the steps on the opening page follow what is there', async () => {
    const folder = temporaryFolder();
    const other = await startService(folder.path);
    const { page, close } = await visit(stage.browser, 'laptop');
    await page.goto(other.url);
    await page.locator('li[aria-current="step"] h2', { hasText: 'A venue' }).waitFor();
    await picture(page, 'first-steps-laptop');
    expect(await barriers(page)).toEqual([]);
    const venue = '6a8c2c1e-2b5a-4d54-9a0e-0d8a7d5f7f10';
    await api(other.url).put(`/api/venues/${venue}`, {
      name: 'Quillhaven Academy',
      timeZone: 'Europe/Vienna',
    });
    await page.locator('li[aria-current="step"] h2', { hasText: 'A room in it' }).waitFor();
    const client = api(other.url);
    const room = randomUUID();
    await client.put(`/api/rooms/${room}`, { ...roomBody, venueId: venue });
    await client.put(`/api/instruments/${randomUUID()}`, { ...instrumentBody, roomId: room });
    await askAgain(page);
    // An instrument alone asks for nothing yet: the steps go on until a sensor has its place.
    await page
      .locator('li[aria-current="step"] h2', { hasText: 'A gateway, and a sensor that sends through it' })
      .waitFor();
    // What came in unread is said where somebody waits for the first reading.
    expect(await page.getByText('Something came in').count()).toBe(0);
    const { token } = addGateway(folder.path, 'porch');
    const unread = { 'content-type': 'application/json', authorization: `Bearer ${token}` };
    await client.ask('POST', '/api/readings', { humidity: 41 }, unread);
    await askAgain(page);
    await page.getByText('Something came in, but no reading could be made of it').waitFor();
    await page.getByRole('link', { name: 'see why, and what helps' }).click();
    await page.locator('h1', { hasText: 'Something came in, but no reading yet' }).waitFor();
    await close();
    await other.kill('SIGTERM');
    folder.remove();
  });
});
