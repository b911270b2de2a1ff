/**
 * A visit written where there is no signal, or one that comes and goes: from a cold start, through a killed tab, by a file
 * to another device, within a photo. In the end there is one visit on the server, and all of it.
 */
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import type { PhotoReceived } from '../../server/contract/index.ts';
import { eventually } from '../support/service.ts';
import { standing } from '../support/standing.ts';
import { chromiumIsHere, picture, visit } from './chromium.ts';
import { grade, groups, items, noise, openGroup, photo, sheetStage, sound } from './sheet-stage.ts';

// On a busy machine a whole sheet takes its time.
describe.skipIf(!chromiumIsHere)('the visit sheet', { timeout: 180_000 }, () => {
  const stage = standing(sheetStage);

  test('without a signal, through a killed tab: one visit on the server, all there; sent twice changes nothing', async () => {
    const { instrumentId } = await stage.client.house();
    const visitor = await visit(stage.browser, 'phone');
    await stage.readyForNoSignal(visitor.page, instrumentId);
    // The network is cut for pages and worker alike.
    await visitor.context.setOffline(true);
    await visitor.page.close();

    const first = await visitor.context.newPage();
    await stage.openSheet(first, instrumentId);
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
    await stage.openSheet(second, instrumentId);
    expect(await second.locator('[name="asFound.tenor"]').inputValue()).toBe('-9');
    await second.locator('.photo-strip li').first().waitFor();
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
    expect(await stage.visitsOf(instrumentId)).toEqual([]);

    await visitor.context.setOffline(false);
    await second.getByText(/: sent/).waitFor();
    await picture(second, 'device-sent-phone');
    const [kept, ...others] = await stage.visitsOf(instrumentId);
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
      const bytes = Buffer.from(await (await fetch(`${stage.service.url}/api/photos/${id}`)).arrayBuffer());
      expect((await sharp(bytes).metadata()).width).toBe(1600);
    }

    // What it says of the first sending stands there until the second is over.
    const [again] = await Promise.all([
      second.waitForResponse((answer) => answer.request().method() === 'PUT'),
      second.getByRole('button', { name: 'Send again' }).click(),
    ]);
    expect([new URL(again.url()).pathname, again.status()]).toEqual([`/api/visits/${kept?.id}`, 200]);
    await second.getByText(/: sent/).waitFor();
    expect(await stage.visitsOf(instrumentId)).toEqual([kept]);
    await visitor.close();
  });

  test('unsent work goes out as a file and is taken in on another device', async () => {
    const { instrumentId } = await stage.client.house();
    const one = await visit(stage.browser, 'phone');
    await stage.readyForNoSignal(one.page, instrumentId);
    await one.context.setOffline(true);
    await stage.openSheet(one.page, instrumentId);
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
    const other = await visit(stage.browser, 'laptop');
    // Each page looks by itself once, soon after its start, whether anything waits: here it is to be sent by hand.
    await Promise.all([
      other.page.waitForResponse('**/api/visit-briefs'),
      other.page.goto(`${stage.service.url}/device`),
    ]);
    await other.page.evaluate(() => navigator.locks.request('crownwatch-outbox', () => undefined));
    await other.page.getByLabel('Take in such a file').setInputFiles(file);
    await other.page.getByText('Taken in: 1 to send, 0 being written.').waitFor();
    await other.page.getByRole('button', { name: 'Send now' }).click();
    await other.page.getByText(/: sent/).waitFor();
    const [kept] = await stage.visitsOf(instrumentId);
    const [note] = kept?.sheet?.photos ?? [];
    expect((await fetch(`${stage.service.url}/api/photos/${note?.id}`)).status).toBe(200);
    // The first device finds its signal again: nothing is doubled.
    await one.context.setOffline(false);
    await one.page.getByText(/: sent/).waitFor();
    expect(await stage.visitsOf(instrumentId)).toEqual([kept]);
    await one.close();
    await other.close();
  });

  test('what is closed while another is on its way goes out right after it', async () => {
    const ids = [await stage.client.house(), await stage.client.house()].map((one) => one.instrumentId);
    const { page, close } = await visit(stage.browser, 'phone');
    // The first is held on its way until the second is closed.
    let letGo = (): void => undefined;
    const isClosed = new Promise<void>((resolve) => {
      letGo = resolve;
    });
    let asked = 0;
    await page.route('**/api/visits/*', async (route) => {
      asked += 1;
      await isClosed;
      await route.continue();
    });
    await stage.openSheet(page, ids[0] ?? '');
    for (const [i, id] of ids.entries()) {
      if (i > 0) await page.locator(`a[href="/instruments/${id}/sheet"]`).click();
      await sound(page, 'site').click();
      await page.getByRole('button', { name: 'Look it over' }).click();
      await page.getByRole('button', { name: 'Close the visit' }).click();
      await page.getByText('on this device, not sent yet').nth(i).waitFor();
    }
    await expect.poll(() => asked).toBe(1);
    // Nothing but the first's own way may lead to the second: not the look at the outbox once a minute.
    await page.evaluate(() => Object.defineProperty(document, 'visibilityState', { get: () => 'hidden' }));
    letGo();
    await page
      .getByText(/: sent/)
      .nth(1)
      .waitFor();
    for (const id of ids) expect(await stage.visitsOf(id)).toHaveLength(1);
    await close();
  });

  test('a signal that breaks within a photo: the sending goes on where it stopped', async () => {
    const { instrumentId } = await stage.client.house();
    const { page, context, close } = await visit(stage.browser, 'phone');
    await stage.openSheet(page, instrumentId);
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
    // A line so slow that a part takes seconds: also a busy machine cuts it before the photo is through. The page
    // notices the signal by itself.
    await signal(25_000);
    const { receivedBytes } = await eventually('two parts are there', async () => {
      if (photoId === '') return null;
      const told = await stage.client.get<PhotoReceived>(`/api/photos/${photoId}/received`);
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
    const [kept] = await stage.visitsOf(instrumentId);
    expect(kept?.sheet?.photos.map(({ id }) => id)).toEqual([photoId]);
    expect((await fetch(`${stage.service.url}/api/photos/${photoId}`)).status).toBe(200);
    await close();
  });
});
