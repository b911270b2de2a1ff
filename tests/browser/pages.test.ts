/**
 * The pages in a real browser on a real service: what they open with, that nobody is shut out, that what is typed is
 * kept. Pictures are left in .test-output/browser.
 */
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import {
  addGateway,
  eventually,
  type RunningService,
  startService,
  temporaryFolder,
} from '../support/service.ts';
import { barriers, chromiumIsHere, type Device, launch, picture, sidewaysPx, visit } from './chromium.ts';
import { type Fleet, newcomer, seedFleet } from './fleet.ts';

const nbsp = '\u00a0';

describe.skipIf(!chromiumIsHere)('pages', () => {
  const folder = temporaryFolder();
  let service: RunningService;
  let browser: Browser;
  let fleet: Fleet;

  beforeAll(async () => {
    const gateway = addGateway(folder.path, 'attic');
    service = await startService(folder.path);
    fleet = await seedFleet(service, gateway.token);
    browser = await launch();
  });
  afterAll(async () => {
    await browser?.close();
    await service?.kill('SIGTERM');
    folder.remove();
  });

  const addresses = () => ({
    instruments: '/',
    instrument: `/instruments/${fleet.flat}`,
    'instrument-unheard': `/instruments/${fleet.unheard}`,
    visit: `/instruments/${fleet.calm}/visit`,
    rounds: '/rounds',
    sensors: '/sensors',
    settings: '/settings',
    'settings-venue': '/settings/venues/new',
    'settings-room': '/settings/rooms/new',
    'settings-instrument': `/settings/instruments/${fleet.flat}`,
    missing: '/nowhere',
  });
  type Name = keyof ReturnType<typeof addresses>;
  const names = [
    'instruments',
    'instrument',
    'instrument-unheard',
    'visit',
    'rounds',
    'sensors',
    'settings',
    'settings-venue',
    'settings-room',
    'settings-instrument',
    'missing',
  ] as const satisfies readonly Name[];

  /** Headings come once the answers are there; the chart draws after its own. */
  async function open(device: Device, name: Name) {
    const visitor = await visit(browser, device);
    await visitor.page.goto(service.url + addresses()[name]);
    await visitor.page.locator('h1').waitFor();
    if (name.startsWith('instrument') && name !== 'instruments') {
      await visitor.page.locator('.plot canvas').first().waitFor();
    }
    await visitor.page.evaluate(() => document.fonts.ready);
    return visitor;
  }

  for (const device of ['phone', 'laptop'] as const) {
    for (const name of names) {
      test(`${name} on a ${device}: in light and dark no barrier, no sideways scroll, no complaint`, async () => {
        const { page, complaints, close } = await open(device, name);
        for (const scheme of ['light', 'dark'] as const) {
          await page.emulateMedia({ colorScheme: scheme });
          await picture(page, `${name}-${device}${scheme === 'dark' ? '-dark' : ''}`);
          expect(await sidewaysPx(page)).toBe(0);
          expect(await barriers(page)).toEqual([]);
          expect(await page.locator('h1').count()).toBe(1);
        }
        expect(complaints).toEqual([]);
        await close();
      });
    }
  }

  test('the look for barriers bites', async () => {
    const { page, close } = await open('laptop', 'missing');
    await page.evaluate(() => {
      const faint = document.createElement('p');
      faint.textContent = 'too faint to read';
      faint.style.color = '#ddd';
      document.querySelector('main')?.append(faint, document.createElement('button'));
    });
    const found = (await barriers(page)).join();
    expect(found).toContain('color-contrast');
    expect(found).toContain('button-name');
    await close();
  });

  test('the list opens with a sentence, most urgent first, and finds by word and by venue', async () => {
    const { page, close } = await open('laptop', 'instruments');
    await expect.poll(() => page.locator('h1').textContent()).toMatch(/asks? for hands/);
    const rows = page.locator('.instrument-row');
    expect(await rows.count()).toBe(3);
    expect(await rows.first().locator('h3').textContent()).toContain('Grand 185 cm');
    const strip = await rows.first().locator('.year-strip').getAttribute('aria-label');
    expect(strip).toMatch(
      new RegExp(`lowest \\d+\\.\\d${nbsp}% on .+, highest \\d+\\.\\d${nbsp}% on .+\\. two visits\\.`),
    );

    await page.getByLabel('Find').fill('88-a-104');
    await expect.poll(() => rows.count()).toBe(1);
    expect(await rows.first().textContent()).toContain('Tremontaine');
    await page.getByLabel('Find').fill('no such piano');
    await expect.poll(() => rows.count()).toBe(0);
    expect(await page.locator('main').textContent()).toContain('Nothing here answers to that');
    await page.getByLabel('Find').fill('');
    await page.getByRole('radio', { name: 'by place', exact: true }).check();
    await expect.poll(() => page.locator('.instrument-group h2').count()).toBe(2);
    await close();
  });

  test('the instrument opens with what is true and what to do, and says dates by the venue’s clock', async () => {
    const told = await fleet.client.instrument(fleet.flat);
    const { page, close } = await open('laptop', 'instrument');
    const advice = (await page.locator('.advice').textContent()) ?? '';
    expect(advice.replaceAll(nbsp, ' ')).toBe(told.advice.sentence.replaceAll(nbsp, ' '));
    expect(await page.locator('.opening .caution').textContent()).toBe(told.advice.cautions.join(''));
    // The browser stands in New York; the tuning's day is Vienna's.
    const tunedDay = new Intl.DateTimeFormat('en-GB', {
      day: 'numeric',
      month: 'long',
      timeZone: 'Europe/Vienna',
    });
    const visitsTable = (await page.locator('.visits').textContent()) ?? '';
    expect(visitsTable.replaceAll(nbsp, ' ')).toContain(tunedDay.format(told.lastTunedMs ?? 0));
    const tenor = told.registers.find((one) => one.register === 'tenor');
    const profile = (await page.locator('.profile tr', { hasText: 'Tenor' }).textContent()) ?? '';
    expect(profile).toContain(`\u2212${Math.abs(Math.round(tenor?.offsetCents ?? 0))}`);
    await page.getByText('What it rests on').first().click();
    expect(await page.locator('.notices details table').first().isVisible()).toBe(true);
    await close();
  });

  test('a newcomer is placed, and what was set aside is told with its reason', async () => {
    const { page, complaints, close } = await visit(browser, 'phone');
    await page.goto(`${service.url}/sensors`);
    await expect.poll(() => page.locator('h1').textContent()).toBe('One sensor waits for a place');
    expect(await page.locator('.refused').textContent()).toContain('140');
    await page.getByRole('link', { name: `Place ${newcomer}` }).click();
    await page.locator('.place-form').waitFor();
    await picture(page, 'place-phone');
    expect(await barriers(page)).toEqual([]);
    await page.getByRole('radio', { name: 'in an instrument', exact: true }).check();
    const choices = await page.getByLabel('Instrument', { exact: true }).locator('option').allTextContents();
    expect(choices.join()).toContain('Tremontaine');
    await page
      .getByLabel('Instrument', { exact: true })
      .selectOption({ index: choices.findIndex((one) => one.includes('Tremontaine')) });
    await page.getByRole('button', { name: 'Save its place' }).click();
    await page.locator('.place-form').waitFor({ state: 'detached' });
    const { sensors } = await fleet.client.sensors();
    expect(sensors.find(({ urn }) => urn === newcomer)?.placement).toMatchObject({
      spot: 'inside',
      instrumentId: fleet.calm,
    });
    await expect.poll(() => page.locator('h1').textContent()).not.toContain('waits for a place');
    expect(complaints).toEqual([]);
    await close();
  });

  test('°F is a choice of the device, kept over a reload', async () => {
    const { page, close } = await open('laptop', 'settings');
    await page.getByRole('radio', { name: '°F', exact: true }).check();
    await page.goto(service.url);
    await page.locator('.instrument-row').first().waitFor();
    // 20.5 °C is 68.9 °F.
    expect((await page.locator('.row-air').first().textContent())?.replaceAll(nbsp, ' ')).toContain('69 °F');
    await close();
  });
});

describe.skipIf(!chromiumIsHere)('a service that goes away', () => {
  test('the page keeps what it knows and says so; it goes on when the service is back', async () => {
    const folder = temporaryFolder();
    addGateway(folder.path, 'attic');
    const first = await startService(folder.path);
    const browser = await launch();
    const { page, close } = await visit(browser, 'laptop');
    await page.goto(first.url);
    await page.locator('h1', { hasText: 'Nothing is watched yet' }).waitFor();
    await first.kill('SIGTERM');
    await page.evaluate(() => window.dispatchEvent(new Event('online')));
    await expect.poll(() => page.locator('.age').textContent()).toContain('No connection');
    expect(await page.locator('h1').textContent()).toBe('Nothing is watched yet');
    const port = new URL(first.url).port;
    const second = await startService(folder.path, { PORT: port });
    await page.evaluate(() => window.dispatchEvent(new Event('online')));
    await eventually('the page is connected again', async () =>
      (await page.locator('.age').textContent())?.includes('no readings yet'),
    );
    await close();
    await browser.close();
    await second.kill('SIGTERM');
    folder.remove();
  });
});
