/**
 * Devices that are not as they should be when a visit is sent: a wrong clock, a second one with the same visit, no room
 * left. Nothing that was kept is lost.
 */
import { describe, expect, test } from 'vitest';
import type { InstrumentPage, Visit } from '../../server/contract/index.ts';
import { eventually } from '../support/service.ts';
import { standing } from '../support/standing.ts';
import { chromiumIsHere, visit } from './chromium.ts';
import { changeOutbox, closeIt, noise, photo, sheetStage, sound } from './sheet-stage.ts';

// On a busy machine a whole sheet takes its time.
describe.skipIf(!chromiumIsHere)('the visit sheet', { timeout: 180_000 }, () => {
  const stage = standing(sheetStage);

  test('a clock an hour wrong is put right with the first sending', async () => {
    const { instrumentId } = await stage.client.house();
    const begunMs = Date.now();
    const { page, close } = await visit(stage.browser, 'phone');
    await page.addInitScript(() => {
      const now = Date.now.bind(Date);
      Date.now = () => now() + 3_600_000;
    });
    await stage.openSheet(page, instrumentId);
    await sound(page, 'site').click();
    await closeIt(page);
    await page.getByText(/clock was 60 min ahead/).waitFor();
    const [kept] = await stage.visitsOf(instrumentId);
    // Closed in between; by a minute at most the device may misjudge how far its clock is off.
    expect(kept?.atMs).toBeGreaterThan(begunMs - 60_000);
    expect(kept?.atMs).toBeLessThan(Date.now() + 60_000);
    await close();
  });

  test('two devices and one visit: the second is kept as a correction, nothing is lost', async () => {
    const { instrumentId } = await stage.client.house();
    const { page, close } = await visit(stage.browser, 'phone');
    await stage.openSheet(page, instrumentId);
    await sound(page, 'site').click();
    await closeIt(page);
    // As if the draft had also been finished elsewhere, differently, under the same id.
    await changeOutbox(page, { state: 'waiting', 'body.note': 'otherwise' });
    await page.reload();
    await page.getByText(/another visit was sent under this id/).waitFor();
    await page.getByRole('button', { name: 'Send it as a correction of the other' }).click();
    await page.getByText(/: sent/).waitFor();
    const [kept] = await stage.visitsOf(instrumentId);
    expect(kept).toMatchObject({ note: 'otherwise' });
    expect(kept?.corrects).not.toBeNull();
    expect((await stage.client.get<Visit>(`/api/visits/${kept?.corrects}`)).note).toBe('');
    expect(((await stage.client.instrument(instrumentId)) as InstrumentPage).visits).toHaveLength(1);

    // A device that does not know of that corrects the first too.
    await page.goto(`${stage.service.url}/instruments/${instrumentId}/visit?corrects=${kept?.corrects}`);
    await page.getByLabel('Note', { exact: true }).fill('of a third device');
    await page.getByRole('button', { name: 'Look it over' }).click();
    await page.getByRole('button', { name: 'Send the correction' }).click();
    await page.getByText(/was corrected on another device meanwhile/).waitFor();
    await page.getByRole('button', { name: 'Send it as a correction of the other' }).click();
    await eventually('it stands', async () => {
      const [newest, ...others] = await stage.visitsOf(instrumentId);
      return others.length === 0 && newest?.note === 'of a third device' && newest.corrects === kept?.id;
    });
    await close();
  });

  test('one draft on two pages: closed on both, the second goes as a correction of the first', async () => {
    const { instrumentId } = await stage.client.house();
    const { page, context, close } = await visit(stage.browser, 'phone');
    await stage.openSheet(page, instrumentId);
    await sound(page, 'site').click();
    await page
      .getByText(/on this device/)
      .first()
      .waitFor();
    const other = await context.newPage();
    await stage.openSheet(other, instrumentId);
    await other.getByText(/^5 of/).waitFor();
    await closeIt(page);
    const [first] = await stage.visitsOf(instrumentId);
    await other.getByLabel('Note', { exact: true }).last().fill('of the other page');
    await other.getByRole('button', { name: 'Look it over' }).click();
    await other.getByRole('button', { name: 'Close the visit' }).click();
    await other
      .getByText(/: sent/)
      .nth(1)
      .waitFor();
    const stand = await stage.visitsOf(instrumentId);
    expect(stand.map(({ note, corrects }) => [note, corrects])).toEqual([['of the other page', first?.id]]);
    expect(await stage.client.get<Visit>(`/api/visits/${first?.id}`)).toEqual(first);
    await close();
  });

  test('a photo that was spoiled on the device is told, and does not hold the others', async () => {
    const { instrumentId } = await stage.client.house();
    const { page, context, close } = await visit(stage.browser, 'phone');
    await stage.openSheet(page, instrumentId);
    for (const [i, colour] of ['#a06030', '#306090'].entries()) {
      await page
        .getByLabel('Photo of the outside, before work')
        .setInputFiles({ name: `${i}.jpg`, mimeType: 'image/jpeg', buffer: await photo(colour) });
      await page.locator('.photo-strip li').nth(i).waitFor();
    }
    await context.setOffline(true);
    await page.getByRole('button', { name: 'Look it over' }).click();
    await page.getByRole('button', { name: 'Close the visit' }).click();
    await page.getByText('on this device, not sent yet').waitFor();
    // As a browser that loses bytes would leave the first of them.
    const [spoiled, whole] = await page.evaluate(
      () =>
        new Promise<string[]>((resolve) => {
          const opening = indexedDB.open('crownwatch');
          opening.onsuccess = () => {
            const trx = opening.result.transaction(['outbox', 'photos'], 'readwrite');
            const asked = trx.objectStore('outbox').getAll();
            asked.onsuccess = () => {
              const ids: string[] = asked.result[0].photoIds;
              const first = trx.objectStore('photos').get(ids[0] ?? '');
              first.onsuccess = () =>
                trx.objectStore('photos').put({ ...first.result, bytes: first.result.bytes.slice(0, 700) });
              trx.oncomplete = () => {
                opening.result.close();
                resolve(ids);
              };
            };
          };
        }),
    );
    await context.setOffline(false);
    await page.getByText('photo: it is damaged and cannot be read to its end').waitFor();
    const statusOf = async (id: string | undefined) =>
      (await fetch(`${stage.service.url}/api/photos/${id}`)).status;
    expect([await statusOf(spoiled), await statusOf(whole)]).toEqual([404, 200]);
    expect((await stage.visitsOf(instrumentId))[0]?.sheet?.photos).toHaveLength(2);
    await close();
  });

  test('storage that is full is said, and nothing that was kept is lost', async () => {
    const { instrumentId } = await stage.client.house();
    const { page, context, close } = await visit(stage.browser, 'phone');
    const session = await context.newCDPSession(page);
    const quotaSize = 6_000_000;
    await session.send('Storage.overrideQuotaForOrigin', { origin: stage.service.url, quotaSize });
    await stage.openSheet(page, instrumentId);
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
    await session.send('Storage.overrideQuotaForOrigin', { origin: stage.service.url });
    await sound(page, 'site').click();
    await closeIt(page);
    const [kept] = await stage.visitsOf(instrumentId);
    expect(kept?.sheet?.photos).toHaveLength(keptHere);
    for (const { id } of kept?.sheet?.photos ?? [])
      expect((await fetch(`${stage.service.url}/api/photos/${id}`)).status).toBe(200);
    await close();
  });
});
