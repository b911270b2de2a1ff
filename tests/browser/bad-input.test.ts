/** What cannot be meant, at the instrument: a clear sentence at the field, and nothing of what was entered is lost. */
import { writeFileSync } from 'node:fs';
import path from 'node:path';
import type { Page } from 'playwright-core';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { standing } from '../support/standing.ts';
import { barriers, chromiumIsHere, picture, visit } from './chromium.ts';
import { changeOutbox, draftHolds, sheetStage, tuningIsSent } from './sheet-stage.ts';

describe.skipIf(!chromiumIsHere)('bad input', { timeout: 180_000 }, () => {
  const stage = standing(sheetStage);
  const outside = (page: Page) => page.getByLabel('Photo of the outside, before work');

  test('files that are no photos, whatever their names', async () => {
    const { instrumentId } = await stage.client.house();
    const { page, close } = await visit(stage.browser, 'phone');
    let scripts = 0;
    await page.exposeFunction('scriptRan', () => {
      scripts += 1;
    });
    await stage.openSheet(page, instrumentId);
    const tiff = await sharp({ create: { width: 40, height: 30, channels: 3, background: '#a06030' } })
      .tiff()
      .toBuffer();
    const svg = Buffer.from(
      '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><script>scriptRan()</script></svg>',
    );
    const files = [
      { name: 'really a tiff.jpg', mimeType: 'image/jpeg', buffer: tiff },
      { name: 'script.svg', mimeType: 'image/svg+xml', buffer: svg },
      { name: 'empty.jpg', mimeType: 'image/jpeg', buffer: Buffer.alloc(0) },
    ];
    for (const file of files) {
      await outside(page).setInputFiles(file);
      await page.getByText(`“${file.name}” is no picture this device can read`).waitFor();
    }
    expect(await page.locator('.photo-strip li').count()).toBe(0);
    expect(scripts).toBe(0);
    // What comes after them is taken.
    const good = await sharp(tiff).jpeg().toBuffer();
    await outside(page).setInputFiles({ name: 'good.jpg', mimeType: 'image/jpeg', buffer: good });
    await page.locator('.photo-strip li').waitFor();
    expect(await page.getByText(/is no picture this device can read/).count()).toBe(0);
    await close();
  });

  test('a photo of 60 MB is made small on the device', async () => {
    const { instrumentId } = await stage.client.house();
    const { page, close } = await visit(stage.browser, 'phone');
    // It is made small only once it is let go, so that closing comes first on any machine.
    await page.addInitScript(() => {
      const make = window.createImageBitmap.bind(window);
      const held = new Promise<void>((resolve) => {
        Object.assign(window, { letGo: resolve });
      });
      window.createImageBitmap = async (...given: [ImageBitmapSource]) => {
        await held;
        return make(...given);
      };
    });
    await stage.openSheet(page, instrumentId);
    const [width, height] = [5200, 4000];
    // Noise at the best quality: some three bytes a pixel, all real picture.
    const raw = Buffer.alloc(width * height * 3);
    let seed = 1;
    for (let i = 0; i < raw.length; i += 4) {
      seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
      raw.writeUInt32LE(seed, i);
    }
    const bytes = await sharp(raw, { raw: { width, height, channels: 3 } })
      .jpeg({ quality: 100, chromaSubsampling: '4:4:4' })
      .toBuffer();
    expect(bytes.length).toBeGreaterThan(60_000_000);
    const file = path.join(stage.folder, 'large.jpg');
    writeFileSync(file, bytes);
    await outside(page).setInputFiles(file);
    // Closed while it is still being made small: closing waits for it.
    await page.getByText('keeping the photo').waitFor();
    await page.getByRole('button', { name: 'Look it over' }).click();
    await page.getByRole('button', { name: 'Close the visit' }).click();
    expect(await page.getByText('keeping the photo').isVisible()).toBe(true);
    expect(await stage.visitsOf(instrumentId)).toEqual([]);
    await page.evaluate(() => (window as unknown as { letGo(): void }).letGo());
    await page.getByText(/: sent/).waitFor({ timeout: 120_000 });
    const [kept] = await stage.visitsOf(instrumentId);
    const [note, ...others] = kept?.sheet?.photos ?? [];
    expect(others).toEqual([]);
    expect(note?.bytes).toBeLessThanOrEqual(400_000);
    const back = Buffer.from(
      await (await fetch(`${stage.service.url}/api/photos/${note?.id}`)).arrayBuffer(),
    );
    const { width: wide = 0, height: high = 1 } = await sharp(back).metadata();
    expect(wide / high).toBeCloseTo(width / height, 2);
    await close();
  });

  test('2,000 words in a note are kept whole; too many are said, and stay', async () => {
    const { instrumentId } = await stage.client.house();
    const { page, close } = await visit(stage.browser, 'phone');
    await stage.openSheet(page, instrumentId, 'visit');
    const words = Array.from({ length: 2000 }, (_, i) => `word${i}`).join(' ');
    const note = page.getByLabel('Note', { exact: true });
    const tooMany = `${words} ${words}`;
    await note.fill(tooMany);
    await page.getByText(`These are ${tooMany.length} letters, and one note holds 20000`).first().waitFor();
    await page.getByRole('button', { name: 'Close the visit' }).click();
    await expect.poll(() => note.evaluate((field) => field === document.activeElement)).toBe(true);
    await picture(page, 'too-many-words-phone');
    expect(await barriers(page)).toEqual([]);
    await page.getByText('on this device').waitFor();
    await expect.poll(() => draftHolds(page, tooMany)).toBe(true);
    await page.reload();
    await note.waitFor();
    expect(await note.inputValue()).toBe(tooMany);
    await note.fill(words);
    await page.getByRole('button', { name: 'Close the visit' }).click();
    await tuningIsSent(page);
    expect((await stage.visitsOf(instrumentId))[0]?.note).toBe(words);
    await close();
  });

  test('what the service refuses is put right on the sheet, under the same id', async () => {
    const { instrumentId } = await stage.client.house();
    const { page, context, close } = await visit(stage.browser, 'phone');
    await stage.openSheet(page, instrumentId, 'visit');
    await page.getByRole('radio', { name: 'A4 alone', exact: true }).check();
    await page.getByRole('radio', { name: 'Hz', exact: true }).check();
    await page.locator('[name="asFound.middle"]').fill('438.7');
    await page.getByLabel('Note', { exact: true }).fill('not to be lost');
    // The page it leads to is on the device from here on.
    await page.waitForFunction(() => navigator.serviceWorker.controller?.state === 'activated');
    await context.setOffline(true);
    await page.getByRole('button', { name: 'Close the visit' }).click();
    await page.getByText('on this device, not sent yet').waitFor();
    // As an older page, which did not ask, would have closed it.
    const id = await changeOutbox(page, { 'body.asFound.a4.value': 44 });
    await context.setOffline(false);
    await page.getByText(/44 Hz is far from the 440.0 Hz of A4/).waitFor();
    await page.getByRole('button', { name: 'Put it right' }).click();
    await page.getByRole('heading', { level: 1, name: /^Tuning, / }).waitFor();
    const found = page.locator('[name="asFound.middle"]');
    expect(await found.inputValue()).toBe('44');
    await page
      .getByText(/44 Hz is far from the 440.Hz of this note/)
      .first()
      .waitFor();
    await found.fill('438.7');
    await page.getByRole('button', { name: 'Close the visit' }).click();
    await tuningIsSent(page);
    const kept = await stage.visitsOf(instrumentId);
    expect(kept.map(({ id }) => id)).toEqual([id]);
    expect(kept[0]).toMatchObject({ asFound: { a4: { unit: 'Hz', value: 438.7 } }, note: 'not to be lost' });
    await close();
  });
});
