/**
 * The visit sheet in a real browser on a real service: from a cold start without a signal, through a killed tab, to one
 * visit on the server; taps counted; nobody shut out; what cannot be meant is said at its field.
 */
import { randomUUID } from 'node:crypto';
import type { Browser, Locator, Page } from 'playwright-core';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { InstrumentPage, PhotoReceived, Visit } from '../../server/contract/index.ts';
import { groupsFor } from '../../server/contract/index.ts';
import { api } from '../support/api.ts';
import { eventually, type RunningService, startService, temporaryFolder } from '../support/service.ts';
import { finding, inspection } from '../visits/sheet.ts';
import { barriers, chromiumIsHere, launch, picture, sidewaysPx, visit } from './chromium.ts';

const groups = groupsFor('grand');
const items = groups.flatMap((group) => group.items);

// On a busy machine a whole sheet takes its time.
describe.skipIf(!chromiumIsHere)('the visit sheet', { timeout: 180_000 }, () => {
  const folder = temporaryFolder();
  let service: RunningService;
  let client: ReturnType<typeof api>;
  let browser: Browser;

  beforeAll(async () => {
    service = await startService(folder.path);
    client = api(service.url);
    browser = await launch();
  });
  afterAll(async () => {
    await browser?.close();
    await service?.kill('SIGTERM');
    folder.remove();
  });

  const visitsOf = (instrumentId: string) => client.get<Visit[]>(`/api/visits?instrument=${instrumentId}`);

  async function openSheet(page: Page, instrumentId: string): Promise<void> {
    await page.goto(`${service.url}/instruments/${instrumentId}/sheet`);
    await page.getByRole('heading', { level: 1, name: /^Visit, / }).waitFor();
  }

  /** Until the worker stands ready and every brief is on the device: from then on there may be no signal. */
  async function readyForNoSignal(page: Page, instrumentId: string): Promise<void> {
    await page.goto(service.url);
    await page.evaluate(async () => {
      await navigator.serviceWorker.ready;
    });
    await eventually('the brief is on the device', async () => {
      // Opening a shelf that is not there yet would make an empty one.
      if (!(await page.evaluate(async () => (await indexedDB.databases()).length))) return false;
      return page.evaluate(
        (id) =>
          new Promise<boolean>((resolve) => {
            const opening = indexedDB.open('crownwatch');
            opening.onsuccess = () => {
              const db = opening.result;
              if (!db.objectStoreNames.contains('briefs')) return resolve(false);
              const asked = db.transaction('briefs').objectStore('briefs').get(id);
              asked.onsuccess = () => {
                db.close();
                resolve(asked.result !== undefined);
              };
            };
            opening.onerror = () => resolve(false);
          }),
        instrumentId,
      );
    });
  }

  const grade = (page: Page, itemId: string, words: string): Locator =>
    page.locator(`[id="item-${itemId}"]`).getByRole('radio', { name: words, exact: true });
  const sound = (page: Page, groupId: string): Locator => page.locator(`[id="group-${groupId}"] .sound`);
  const openGroup = (page: Page, groupId: string): Locator => page.locator(`[id="group-${groupId}"] .opens`);

  const photo = (colour: string) =>
    sharp({ create: { width: 3000, height: 2000, channels: 3, background: colour } })
      .jpeg()
      .toBuffer();

  /** Of some 400 kB: noise does not shrink. */
  const noise = () =>
    sharp({
      create: {
        width: 1600,
        height: 1200,
        channels: 3,
        background: '#808080',
        noise: { type: 'gaussian', mean: 128, sigma: 60 },
      },
    })
      .jpeg()
      .toBuffer();

  test('without a signal, through a killed tab: one visit on the server, all there; sent twice changes nothing', async () => {
    const { instrumentId } = await client.house();
    const visitor = await visit(browser, 'phone');
    await readyForNoSignal(visitor.page, instrumentId);
    // The network is cut for pages and worker alike.
    await visitor.context.setOffline(true);
    await visitor.page.close();

    const first = await visitor.context.newPage();
    await openSheet(first, instrumentId);
    await first.getByLabel('By', { exact: true }).fill('E. Marten');
    await first.locator('[name="asFound.middle"]').fill('-6');
    await first.locator('[name="asFound.tenor"]').fill('-9');
    await openGroup(first, 'ribs').click();
    await grade(first, 'ribs.separated', 'Major').click();
    await first.locator('[id="item-ribs.separated"]').getByRole('button', { name: 'treble end' }).click();
    const colours = ['#a06030', '#306090', '#509050'];
    for (const [i, colour] of colours.entries()) {
      await first
        .getByLabel(i === 0 ? 'Photo of the outside, before work' : 'Photo of separated ribs')
        .setInputFiles({ name: `${i}.jpg`, mimeType: 'image/jpeg', buffer: await photo(colour) });
      await first.locator('.photo-strip li').nth(i).waitFor();
    }
    for (const group of groups.slice(0, 8)) if (group.id !== 'ribs') await sound(first, group.id).click();
    await first
      .getByText(/on this device/)
      .first()
      .waitFor();
    await eventually('the draft is on the shelf with its photos', () =>
      first.evaluate(
        () =>
          new Promise<boolean>((resolve) => {
            const opening = indexedDB.open('crownwatch');
            opening.onsuccess = () => {
              const asked = opening.result.transaction('drafts').objectStore('drafts').getAll();
              asked.onsuccess = () => {
                opening.result.close();
                resolve(asked.result[0]?.photos.length === 3);
              };
            };
          }),
      ),
    );
    // The tab dies as when the phone runs out of memory.
    const session = await visitor.context.newCDPSession(first);
    const crashed = first.waitForEvent('crash');
    session.send('Page.crash').catch(() => undefined);
    await crashed;
    await first.close();

    const second = await visitor.context.newPage();
    await openSheet(second, instrumentId);
    expect(await second.locator('[name="asFound.tenor"]').inputValue()).toBe('-9');
    expect(await second.locator('.photo-strip li').count()).toBeGreaterThan(0);
    for (const group of groups) {
      const button = sound(second, group.id);
      if (await button.count()) await button.click();
    }
    await second
      .getByRole('group', { name: 'As left' })
      .getByRole('button', { name: /right|standard/i })
      .first()
      .click();
    await second
      .getByRole('region', { name: 'Work done' })
      .getByRole('button', { name: 'Tuning', exact: true })
      .click();
    await second.getByRole('button', { name: 'Look it over' }).click();
    await picture(second, 'visit-sheet-closing-phone');
    await second.getByRole('button', { name: 'Close the visit' }).click();
    await second.getByRole('heading', { name: 'On this device' }).waitFor();
    await second.getByText('on this device, not sent yet').waitFor();
    expect(await visitsOf(instrumentId)).toEqual([]);

    await visitor.context.setOffline(false);
    await second.getByText(/: sent/).waitFor();
    await picture(second, 'device-sent-phone');
    const [kept, ...others] = await visitsOf(instrumentId);
    expect(others).toEqual([]);
    expect(kept).toMatchObject({
      by: 'E. Marten',
      asFound: { tenor: { unit: 'cents', value: -9 }, middle: { unit: 'cents', value: -6 } },
      asLeft: { tenor: { unit: 'cents', value: 0 } },
    });
    const rib = kept?.findings.find(({ itemId }) => itemId === 'ribs.separated');
    expect(rib).toMatchObject({ part: 'separated rib', conditionClass: 3, words: 'treble end' });
    expect(rib?.photoIds).toHaveLength(2);
    expect(kept?.sheet?.sound).toHaveLength(items.length - 1);
    expect(kept?.sheet?.workDone).toEqual([{ job: 'tuning', words: 'Tuning', minutes: null }]);
    expect(kept?.sheet?.photos).toHaveLength(3);
    for (const { id } of kept?.sheet?.photos ?? []) {
      const bytes = Buffer.from(await (await fetch(`${service.url}/api/photos/${id}`)).arrayBuffer());
      expect((await sharp(bytes).metadata()).width).toBe(1600);
    }

    await second.getByRole('button', { name: 'Send again' }).click();
    await second.getByText(/: sent/).waitFor();
    expect(await visitsOf(instrumentId)).toEqual([kept]);
    await visitor.close();
  });

  /** Counts what a finger does on the page itself. */
  async function countTaps(page: Page): Promise<() => Promise<number>> {
    await page.evaluate(() => {
      const tally = { taps: 0 };
      Object.assign(window, { tally });
      document.addEventListener('pointerdown', () => (tally.taps += 1), { capture: true });
    });
    return () => page.evaluate(() => (window as unknown as { tally: { taps: number } }).tally.taps);
  }

  async function closeIt(page: Page): Promise<void> {
    await page.getByRole('button', { name: 'Look it over' }).click();
    await page.getByRole('button', { name: 'Close the visit' }).click();
    await page
      .getByText(/: sent/)
      .first()
      .waitFor();
  }

  test('everything sound takes at most 25 taps', async () => {
    const { instrumentId } = await client.house();
    const { page, close } = await visit(browser, 'phone');
    await openSheet(page, instrumentId);
    const taps = await countTaps(page);
    for (const group of groups) await sound(page, group.id).click();
    await closeIt(page);
    const count = await taps();
    console.info(`taps, everything sound: ${count}`);
    expect(count).toBeLessThanOrEqual(25);
    const [kept] = await visitsOf(instrumentId);
    expect(kept?.sheet?.sound).toHaveLength(items.length);
    await close();
  });

  test('forty findings take at most 160 taps', async () => {
    const { instrumentId } = await client.house();
    const { page, close } = await visit(browser, 'phone');
    await openSheet(page, instrumentId);
    const taps = await countTaps(page);
    const wanted = new Set(items.slice(0, 40).map(({ id }) => id));
    for (const group of groups) {
      const here = group.items.filter(({ id }) => wanted.has(id));
      if (here.length > 0) await openGroup(page, group.id).click();
      for (const [i, item] of here.entries()) {
        await grade(page, item.id, i % 2 === 0 ? 'Minor' : 'Moderate').click();
        await page.locator(`[id="item-${item.id}"] .chips button`).first().click();
      }
      if (here.length < group.items.length) await sound(page, group.id).click();
    }
    await closeIt(page);
    const count = await taps();
    console.info(`taps, forty findings: ${count}`);
    expect(count).toBeLessThanOrEqual(160);
    const [kept] = await visitsOf(instrumentId);
    expect(kept?.findings.filter(({ conditionClass }) => conditionClass > 0)).toHaveLength(40);
    await close();
  });

  test('the whole sheet by keyboard alone', async () => {
    const { instrumentId } = await client.house();
    const { page, close } = await visit(browser, 'laptop');
    await openSheet(page, instrumentId);
    const focused = () => page.evaluate(() => document.activeElement?.textContent ?? '');
    /** Forward until what has the focus says this; as a person would, by tabulator. */
    async function tabTo(words: RegExp): Promise<void> {
      for (let press = 0; press < 400; press++) {
        if (words.test(await focused())) return;
        await page.keyboard.press('Tab');
      }
      throw new Error(`no way by keyboard to ${words}`);
    }
    await tabTo(/^Site and case$/);
    await page.keyboard.press('Enter');
    // The first radio of the first item, then by arrow to "Minor".
    await page.keyboard.press('Tab');
    await page.keyboard.press('Tab');
    await page.keyboard.press('Space');
    await page.keyboard.press('ArrowRight');
    await tabTo(/^heater within 1 m$/);
    await page.keyboard.press('Enter');
    for (const group of groups) {
      await page.evaluate(() => (document.activeElement as HTMLElement | null)?.blur());
      await tabTo(new RegExp(`ithout symptoms: ${group.name}$`));
      await page.keyboard.press('Enter');
    }
    await tabTo(/^Look it over$/);
    await page.keyboard.press('Enter');
    await tabTo(/^Close the visit$/);
    await page.keyboard.press('Enter');
    await page
      .getByText(/: sent/)
      .first()
      .waitFor();
    const [kept] = await visitsOf(instrumentId);
    expect(kept?.findings.find(({ itemId }) => itemId === 'site.heat')).toMatchObject({
      conditionClass: 1,
      words: 'heater within 1 m',
    });
    await close();
  });

  for (const device of ['phone', 'laptop'] as const) {
    test(`on a ${device}: in light and dark no barrier, no sideways scroll, no complaint`, async () => {
      const { instrumentId } = await client.house();
      const { id, ...before } = inspection(instrumentId, Date.now() - 86_400_000 * 200, [
        finding({ itemId: 'ribs.separated', words: 'third rib' }),
      ]);
      await client.put(`/api/visits/${id}`, before);
      await client.put(`/api/remarks/${randomUUID()}`, {
        instrumentId,
        atMs: Date.now() - 3_600_000,
        from: 'venue, by telephone',
        words: 'buzz on C5',
      });
      for (const dark of [false, true]) {
        const visitor = await visit(browser, device);
        const { page } = visitor;
        await page.emulateMedia({ colorScheme: dark ? 'dark' : 'light' });
        await openSheet(page, instrumentId);
        await page.getByText('buzz on C5').waitFor();
        await openGroup(page, 'board-top').click();
        await grade(page, 'board.cracks', 'Moderate').click();
        await openGroup(page, 'pins').click();
        await page.getByRole('button', { name: '+ bass' }).click();
        await page.getByLabel('Torque of bass pin 1').fill('900');
        await page.getByText(/900 N·m is beyond what can be measured there/).waitFor();
        await page.getByRole('button', { name: 'Look it over' }).click();
        await page.getByRole('heading', { name: 'Before it is closed' }).waitFor();
        // Closing leads to what is wrong, and sends nothing.
        await page.getByRole('button', { name: 'Close the visit' }).click();
        const torque = page.getByLabel('Torque of bass pin 1');
        expect(await torque.evaluate((field) => field === document.activeElement)).toBe(true);
        expect(await visitsOf(instrumentId)).toHaveLength(1);
        const shown = dark ? 'dark' : 'light';
        await picture(page, `visit-sheet-${device}-${shown}`);
        expect(await barriers(page)).toEqual([]);
        expect(await sidewaysPx(page)).toBe(0);
        await page.goto(`${service.url}/device`);
        await page.getByRole('heading', { level: 1, name: 'On this device' }).waitFor();
        // What the browser answered when it was asked to keep what is here.
        await page.getByText(/^(The browser has promised|The browser may clear it)/).waitFor();
        await picture(page, `device-${device}-${shown}`);
        expect(await barriers(page)).toEqual([]);
        expect(visitor.complaints).toEqual([]);
        await visitor.close();
      }
    });
  }

  test('undo takes back what was tapped last, and what cannot be meant is said at its field', async () => {
    const { instrumentId } = await client.house();
    const { page, close } = await visit(browser, 'phone');
    await openSheet(page, instrumentId);
    await sound(page, 'site').click();
    await page.getByText(/^5 of/).waitFor();
    await page.getByRole('button', { name: /^Undo/ }).click();
    await page.getByText(/^0 of/).waitFor();
    await page.getByRole('radio', { name: 'Hz', exact: true }).click();
    await page.locator('[name="asFound.middle"]').fill('44');
    await page
      .getByText(/44 Hz is far from the 440.Hz of this note/)
      .first()
      .waitFor();
    await page
      .getByLabel('Photo of the outside, before work')
      .setInputFiles({ name: 'words.jpg', mimeType: 'image/jpeg', buffer: Buffer.from('no picture') });
    await page.getByText(/“words.jpg” is no picture this device can read/).waitFor();
    await close();
  });

  test('a clock an hour wrong is put right with the first sending', async () => {
    const { instrumentId } = await client.house();
    const { page, close } = await visit(browser, 'phone');
    await page.addInitScript(() => {
      const now = Date.now.bind(Date);
      Date.now = () => now() + 3_600_000;
    });
    await openSheet(page, instrumentId);
    await sound(page, 'site').click();
    await closeIt(page);
    await page.getByText(/clock was 60 min ahead/).waitFor();
    const [kept] = await visitsOf(instrumentId);
    expect(Math.abs((kept?.atMs ?? 0) - Date.now())).toBeLessThan(60_000);
    await close();
  });

  test('unsent work goes out as a file and is taken in on another device', async () => {
    const { instrumentId } = await client.house();
    const one = await visit(browser, 'phone');
    await readyForNoSignal(one.page, instrumentId);
    await one.context.setOffline(true);
    await openSheet(one.page, instrumentId);
    await one.page
      .getByLabel('Photo of the outside, before work')
      .setInputFiles({ name: 'a.jpg', mimeType: 'image/jpeg', buffer: await photo('#777777') });
    await one.page.locator('.photo-strip li').waitFor();
    await sound(one.page, 'site').click();
    await one.page.getByRole('button', { name: 'Look it over' }).click();
    await one.page.getByRole('button', { name: 'Close the visit' }).click();
    await one.page.getByText('on this device, not sent yet').waitFor();
    const [saved] = await Promise.all([
      one.page.waitForEvent('download'),
      one.page.getByRole('button', { name: 'Save unsent work to a file' }).click(),
    ]);
    const file = await saved.path();
    const other = await visit(browser, 'laptop');
    await other.page.goto(`${service.url}/device`);
    await other.page.getByLabel('Take in such a file').setInputFiles(file);
    await other.page.getByText('Taken in: 1 to send, 0 being written.').waitFor();
    await other.page.getByRole('button', { name: 'Send now' }).click();
    await other.page.getByText(/: sent/).waitFor();
    const [kept] = await visitsOf(instrumentId);
    const [note] = kept?.sheet?.photos ?? [];
    expect((await fetch(`${service.url}/api/photos/${note?.id}`)).status).toBe(200);
    // The first device finds its signal again: nothing is doubled.
    await one.context.setOffline(false);
    await one.page.getByText(/: sent/).waitFor();
    expect(await visitsOf(instrumentId)).toEqual([kept]);
    await one.close();
    await other.close();
  });

  test('a signal that breaks within a photo: the sending goes on where it stopped', async () => {
    const { instrumentId } = await client.house();
    const { page, context, close } = await visit(browser, 'phone');
    await openSheet(page, instrumentId);
    const line = await context.newCDPSession(page);
    const signal = (uploadThroughput: number) =>
      line.send('Network.emulateNetworkConditions', {
        offline: uploadThroughput === 0,
        latency: 20,
        downloadThroughput: -1,
        uploadThroughput,
      });
    await line.send('Network.enable');
    await signal(0);
    await page
      .getByLabel('Photo of the outside, before work')
      .setInputFiles({ name: 'a.jpg', mimeType: 'image/jpeg', buffer: await noise() });
    await page.locator('.photo-strip li').waitFor();
    await sound(page, 'site').click();
    await page.getByRole('button', { name: 'Look it over' }).click();
    await page.getByRole('button', { name: 'Close the visit' }).click();
    await page.getByText('on this device, not sent yet').waitFor();

    const parts: { first: number; last: number; total: number }[] = [];
    let photoId = '';
    page.on('request', (request) => {
      const range = /^bytes (\d+)-(\d+)\/(\d+)$/.exec(request.headers()['content-range'] ?? '');
      if (!range) return;
      photoId = request.url().split('/').at(-1) ?? '';
      const [first = 0, last = 0, total = 0] = range.slice(1).map(Number);
      parts.push({ first, last, total });
    });
    // A line so slow that a part takes more than a second. The page notices the signal by itself.
    await signal(50_000);
    const { receivedBytes } = await eventually('two parts are there', async () => {
      if (photoId === '') return null;
      const told = await client.get<PhotoReceived>(`/api/photos/${photoId}/received`);
      return told.receivedBytes >= 131_072 ? told : null;
    });
    await signal(0);
    await page.getByText('No connection to the service.').waitFor();
    const before = parts.length;
    await signal(-1);
    await page.getByText(/: sent/).waitFor();
    const total = parts[0]?.total ?? 0;
    expect(total).toBeGreaterThan(200_000);
    // Where it stopped, or a part further: the last answer may have been on its way.
    expect(parts[before]?.first).toBeGreaterThanOrEqual(receivedBytes);
    const sentTwice = parts.reduce((sum, { first, last }) => sum + last + 1 - first, 0) - total;
    expect(sentTwice).toBeLessThanOrEqual(65_536);
    const [kept] = await visitsOf(instrumentId);
    expect(kept?.sheet?.photos.map(({ id }) => id)).toEqual([photoId]);
    expect((await fetch(`${service.url}/api/photos/${photoId}`)).status).toBe(200);
    await close();
  });

  test('two devices and one visit: the second is kept as a correction, nothing is lost', async () => {
    const { instrumentId } = await client.house();
    const { page, close } = await visit(browser, 'phone');
    await openSheet(page, instrumentId);
    await sound(page, 'site').click();
    await closeIt(page);
    // As if the draft had also been finished elsewhere, differently, under the same id.
    await page.evaluate(
      () =>
        new Promise<void>((resolve) => {
          const opening = indexedDB.open('crownwatch');
          opening.onsuccess = () => {
            const trx = opening.result.transaction('outbox', 'readwrite');
            const all = trx.objectStore('outbox').getAll();
            all.onsuccess = () => {
              const [entry] = all.result;
              trx
                .objectStore('outbox')
                .put({ ...entry, state: 'waiting', body: { ...entry.body, note: 'otherwise' } });
            };
            trx.oncomplete = () => {
              opening.result.close();
              resolve();
            };
          };
        }),
    );
    await page.reload();
    await page.getByText(/another visit was sent under this id/).waitFor();
    await page.getByRole('button', { name: 'Send it as a correction of the first' }).click();
    await page.getByText(/: sent/).waitFor();
    const [kept] = await visitsOf(instrumentId);
    expect(kept).toMatchObject({ note: 'otherwise' });
    expect(kept?.corrects).not.toBeNull();
    expect((await client.get<Visit>(`/api/visits/${kept?.corrects}`)).note).toBe('');
    expect(((await client.instrument(instrumentId)) as InstrumentPage).visits).toHaveLength(1);
    await close();
  });

  test('storage that is full is said, and nothing that was kept is lost', async () => {
    const { instrumentId } = await client.house();
    const { page, context, close } = await visit(browser, 'phone');
    const session = await context.newCDPSession(page);
    const quotaSize = 6_000_000;
    await session.send('Storage.overrideQuotaForOrigin', { origin: service.url, quotaSize });
    await openSheet(page, instrumentId);
    const bytes = await noise();
    const full = page.getByText(/The photo is not kept\. This device is full/);
    for (let i = 0; i < 40 && !(await full.isVisible()); i++) {
      const before = await page.locator('.photo-strip li').count();
      await page
        .getByLabel('Photo of the outside, before work')
        .setInputFiles({ name: `${i}.jpg`, mimeType: 'image/jpeg', buffer: bytes });
      await page.locator('.photo-strip li').nth(before).or(full).first().waitFor();
    }
    expect(await full.isVisible()).toBe(true);
    const keptHere = await page.locator('.photo-strip li').count();
    await session.send('Storage.overrideQuotaForOrigin', { origin: service.url });
    await sound(page, 'site').click();
    await closeIt(page);
    const [kept] = await visitsOf(instrumentId);
    expect(kept?.sheet?.photos).toHaveLength(keptHere);
    for (const { id } of kept?.sheet?.photos ?? [])
      expect((await fetch(`${service.url}/api/photos/${id}`)).status).toBe(200);
    await close();
  });
});
