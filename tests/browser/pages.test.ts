/**
 * The pages in a real browser on a real service: what they open with, that nobody is shut out, that what is typed is
 * kept. Pictures are left in .test-output/browser.
 */
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import type { InstrumentPage, RoundsPage } from '../../server/contract/index.ts';
import { heading as headingOfRounds } from '../../web/rounds/heading.ts';
import { plain } from '../support/plain.ts';
import { addGateway, eventually, startService, temporaryFolder } from '../support/service.ts';
import { standing } from '../support/standing.ts';
import { barriers, chromiumIsHere, type Device, launch, picture, visit } from './chromium.ts';
import { fleetStage, newcomer } from './fleet.ts';
import { eachForEverybody } from './for-everybody.ts';
import { type Answered, answersTo, askAgain, plainText } from './stage.ts';

const nbsp = '\u00a0';
/** What a page shows is asked for again every fifteen seconds, less often where the answer takes long. */
const asLongAsAPoll = { timeout: 60_000 };

describe.skipIf(!chromiumIsHere)('pages', { timeout: 180_000 }, () => {
  const fleet = standing(fleetStage, 180_000);

  const pages = {
    instruments: () => '/instruments',
    instrument: () => `/instruments/${fleet.flat}`,
    'instrument-unheard': () => `/instruments/${fleet.unheard}`,
    visit: () => `/instruments/${fleet.calm}/visit`,
    rounds: () => '/',
    sensors: () => '/sensors',
    settings: () => '/settings',
    'settings-venue': () => '/settings/venues/new',
    'settings-room': () => '/settings/rooms/new',
    'settings-instrument': () => `/settings/instruments/${fleet.flat}`,
    missing: () => '/nowhere',
  };

  /** The chart draws after its own answers. */
  async function openInstrument(
    path = pages.instrument(),
    device?: Device,
    before?: (page: Page) => unknown,
  ) {
    const visitor = await fleet.open(path, device, before);
    await visitor.page.locator('.plot canvas').first().waitFor();
    return visitor;
  }

  eachForEverybody(pages, (path, device, name) =>
    /^instrument\b/.test(name) ? openInstrument(path, device) : fleet.open(path, device),
  );

  test('the look for barriers bites', async () => {
    const { page, close } = await fleet.open('/nowhere');
    await page.evaluate(() => {
      const faint = document.createElement('p');
      faint.textContent = 'too faint to read';
      faint.style.color = '#ddd';
      document.querySelector('main')?.append(faint, document.createElement('button'));
    });
    const found = (await barriers(page)).join();
    expect(found).toContain('color-contrast');
    expect(found).toContain('button-name');
    expect((await barriers(page, 'colours')).join()).toContain('color-contrast');
    await close();
  });

  test('a technician’s first page is the rounds, also under the address it had before; the list is beside it', async () => {
    const { page, close } = await fleet.open('/');
    const shown = () => page.locator('[aria-current=page]').allTextContents();
    // By now: an hour that begins may move a round.
    const isTheRounds = async () => {
      const { rounds } = await fleet.client.get<RoundsPage>('/api/rounds');
      return (await plainText(page, 'h1')) === plain(headingOfRounds(rounds, Date.now()));
    };
    expect(await plainText(page, 'h1')).toMatch(/rounds? by|No round is needed/);
    await expect.poll(isTheRounds, asLongAsAPoll).toBe(true);
    expect(await shown()).toEqual(['Rounds']);
    await page.goto(`${fleet.service.url}/rounds`);
    await expect.poll(isTheRounds, asLongAsAPoll).toBe(true);
    expect(await shown()).toEqual(['Rounds']);
    await page.getByRole('link', { name: 'Instruments', exact: true }).click();
    await page.locator('.instrument-row').first().waitFor();
    expect(new URL(page.url()).pathname).toBe('/instruments');
    expect(await shown()).toEqual(['Instruments']);
    await page.getByRole('link', { name: 'crownwatch, to the rounds' }).click();
    await expect.poll(isTheRounds, asLongAsAPoll).toBe(true);
    await close();
  });

  test('the list opens with a sentence, most urgent first, and finds by word and by venue', async () => {
    const { page, close } = await fleet.open('/instruments');
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
    let answered: Answered | undefined;
    const { page, close } = await openInstrument(pages.instrument(), 'laptop', (opened) => {
      answered = answersTo(opened);
    });
    const told = await answered?.<InstrumentPage>(`/api${pages.instrument()}`);
    if (!told) throw new Error('nothing was told');
    expect(await plainText(page, '.advice')).toBe(plain(told.advice.sentence));
    expect(await page.locator('.opening .caution').textContent()).toBe(told.advice.cautions.join(''));
    // The browser stands in New York; the tuning's day is Vienna's.
    const tunedDay = new Intl.DateTimeFormat('en-GB', {
      day: 'numeric',
      month: 'long',
      timeZone: 'Europe/Vienna',
    });
    expect(await plainText(page, '.visits')).toContain(tunedDay.format(told.lastTunedMs ?? 0));
    const tenor = told.registers.find((one) => one.register === 'tenor');
    const profile = (await page.locator('.profile tr', { hasText: 'Tenor' }).textContent()) ?? '';
    expect(profile).toContain(`\u2212${Math.abs(Math.round(tenor?.offsetCents ?? 0))}`);
    await page.getByText('What it rests on').first().click();
    expect(await page.locator('.notices details table').first().isVisible()).toBe(true);
    await close();
  });

  test('a newcomer is placed, and what was set aside is told with its reason', async () => {
    const { page, complaints, close } = await fleet.open('/sensors', 'phone');
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
    // What was looked at is put by, and can be taken up again.
    await page.getByRole('button', { name: /^Mark as seen/ }).click();
    await page.getByText('All of it is seen.').waitFor();
    await page.getByText('Seen before (1)').click();
    await picture(page, 'set-aside-seen-phone');
    await page.getByRole('button', { name: /^Not seen yet/ }).click();
    await page.getByRole('button', { name: /^Mark as seen/ }).waitFor();
    expect(complaints).toEqual([]);
    await close();
  });

  test('°F is a choice of the device, kept over a reload', async () => {
    const { page, close } = await fleet.open('/settings');
    await page.getByRole('radio', { name: '°F', exact: true }).check();
    await page.goto(`${fleet.service.url}/instruments`);
    await page.locator('.instrument-row').first().waitFor();
    // 20.5 °C is 68.9 °F.
    expect(await plainText(page, '.row-air')).toContain('69 °F');
    await close();
  });
});

describe.skipIf(!chromiumIsHere)('a service that goes away', { timeout: 180_000 }, () => {
  test('the page keeps what it knows and says so; it goes on when the service is back', async () => {
    const folder = temporaryFolder();
    addGateway(folder.path, 'attic');
    const first = await startService(folder.path);
    const browser = await launch();
    const { page, close } = await visit(browser, 'laptop');
    await page.goto(first.url);
    await page.locator('h1', { hasText: 'Nothing is watched yet' }).waitFor();
    await first.kill('SIGTERM');
    await askAgain(page);
    await expect.poll(() => page.locator('.age').textContent()).toContain('No connection');
    expect(await page.locator('h1').textContent()).toBe('Nothing is watched yet');
    const port = new URL(first.url).port;
    const second = await startService(folder.path, { PORT: port });
    await askAgain(page);
    await eventually('the page is connected again', async () =>
      (await page.locator('.age').textContent())?.includes('no readings yet'),
    );
    await close();
    await browser.close();
    await second.kill('SIGTERM');
    folder.remove();
  });
});
