/**
 * The visit sheet under the hands of whoever writes it, in a real browser on a real service: taps counted, by keyboard
 * alone, nobody shut out, what cannot be meant said at its field.
 */
import { randomUUID } from 'node:crypto';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { standing } from '../support/standing.ts';
import { finding, inspection } from '../visits/sheet.ts';
import { barriers, chromiumIsHere, picture, sidewaysPx, visit } from './chromium.ts';
import { closeIt, grade, groups, items, openGroup, sheetStage, sound } from './sheet-stage.ts';

// On a busy machine a whole sheet takes its time.
describe.skipIf(!chromiumIsHere)('the visit sheet', { timeout: 180_000 }, () => {
  const stage = standing(sheetStage);

  /** Counts what a finger does on the page itself. */
  async function countTaps(page: Page): Promise<() => Promise<number>> {
    await page.evaluate(() => {
      const tally = { taps: 0 };
      Object.assign(window, { tally });
      document.addEventListener('pointerdown', () => (tally.taps += 1), { capture: true });
    });
    return () => page.evaluate(() => (window as unknown as { tally: { taps: number } }).tally.taps);
  }

  /** Controls of the sheet that no tabulator from the top of the page leads to, or leads to behind the bar at its foot. */
  async function notReached(page: Page): Promise<string[]> {
    await page.evaluate(() => {
      const all = document.querySelectorAll<HTMLElement>(
        '.visit-sheet :is(a, button:enabled, input, select, textarea, summary)',
      );
      const still = new Set([...all].filter((one) => one.checkVisibility()));
      Object.assign(window, { still });
      document.querySelector<HTMLElement>('.skip')?.focus();
    });
    for (let press = 0; press < 400; press++) {
      await page.keyboard.press('Tab');
      const isEnd = await page.evaluate(() => {
        const { still } = window as unknown as { still: Set<HTMLElement> };
        const at = document.activeElement as HTMLInputElement;
        const bar = document.querySelector('.thumb-bar');
        const isBehind = at.getBoundingClientRect().top > (bar?.getBoundingClientRect().top ?? 0);
        if (bar?.contains(at) || !isBehind) still.delete(at);
        // Arrows lead on among the choices of one question.
        if (at.type === 'radio') for (const one of document.getElementsByName(at.name)) still.delete(one);
        return at === document.body;
      });
      if (isEnd) break;
    }
    return page.evaluate(() => {
      const { still } = window as unknown as { still: Set<HTMLElement> };
      return [...still].map((one) => one.outerHTML.slice(0, 120));
    });
  }

  test('everything sound takes at most 25 taps', async () => {
    const { instrumentId } = await stage.client.house();
    const { page, close } = await visit(stage.browser, 'phone');
    await stage.openSheet(page, instrumentId);
    const taps = await countTaps(page);
    for (const group of groups) await sound(page, group.id).click();
    await closeIt(page);
    const count = await taps();
    console.info(`taps, everything sound: ${count}`);
    expect(count).toBeLessThanOrEqual(25);
    const [kept] = await stage.visitsOf(instrumentId);
    expect(kept?.sheet?.sound).toHaveLength(items.length);
    // What was looked at and found sound is not told as found.
    await page.goto(`${stage.service.url}/instruments/${instrumentId}`);
    const row = page.locator('.visits tbody');
    await row.waitFor();
    expect(await row.textContent()).not.toMatch(/crack|rib|pins/);
    await close();
  });

  test('forty findings take at most 160 taps', async () => {
    const { instrumentId } = await stage.client.house();
    const { page, close } = await visit(stage.browser, 'phone');
    await stage.openSheet(page, instrumentId);
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
    const [kept] = await stage.visitsOf(instrumentId);
    expect(kept?.findings.filter(({ conditionClass }) => conditionClass > 0)).toHaveLength(40);
    await close();
  });

  test('the whole sheet by keyboard alone', async () => {
    const { instrumentId } = await stage.client.house();
    const { page, close } = await visit(stage.browser, 'laptop');
    await stage.openSheet(page, instrumentId);
    await openGroup(page, 'pins').click();
    expect(await notReached(page)).toEqual([]);
    await openGroup(page, 'pins').click();
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
    const [kept] = await stage.visitsOf(instrumentId);
    expect(kept?.findings.find(({ itemId }) => itemId === 'site.heat')).toMatchObject({
      conditionClass: 1,
      words: 'heater within 1 m',
    });
    await close();
  });

  for (const device of ['phone', 'laptop'] as const) {
    test(`on a ${device}: in light and dark no barrier, no sideways scroll, no complaint`, async () => {
      const { instrumentId } = await stage.client.house();
      const { id, ...before } = inspection(instrumentId, Date.now() - 86_400_000 * 200, [
        finding({ itemId: 'ribs.separated', words: 'third rib' }),
      ]);
      await stage.client.put(`/api/visits/${id}`, before);
      await stage.client.put(`/api/remarks/${randomUUID()}`, {
        instrumentId,
        atMs: Date.now() - 3_600_000,
        from: 'venue, by telephone',
        words: 'buzz on C5',
      });
      for (const dark of [false, true]) {
        const visitor = await visit(stage.browser, device);
        const { page } = visitor;
        await page.emulateMedia({ colorScheme: dark ? 'dark' : 'light' });
        await stage.openSheet(page, instrumentId);
        await page.getByText('buzz on C5').waitFor();
        await openGroup(page, 'board-top').click();
        await grade(page, 'board.cracks', 'Moderate').click();
        await openGroup(page, 'pins').click();
        await page.getByRole('button', { name: '+ bass' }).click();
        await page.getByLabel('Torque of bass pin 1').fill('900');
        await page.getByText(/900 N·m is beyond what can be measured there/).waitFor();
        await openGroup(page, 'pins').click();
        await page.getByRole('button', { name: 'Look it over' }).click();
        await page.getByRole('heading', { name: 'Before it is closed' }).waitFor();
        // Closing leads to what is wrong, though it was folded away, and sends nothing.
        await page.getByRole('button', { name: 'Close the visit' }).click();
        const torque = page.getByLabel('Torque of bass pin 1');
        await expect.poll(() => torque.evaluate((field) => field === document.activeElement)).toBe(true);
        expect(await stage.visitsOf(instrumentId)).toHaveLength(1);
        const shown = dark ? 'dark' : 'light';
        await picture(page, `visit-sheet-${device}-${shown}`);
        expect(await barriers(page)).toEqual([]);
        expect(await sidewaysPx(page)).toBe(0);
        await page.goto(`${stage.service.url}/device`);
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
    const { instrumentId } = await stage.client.house();
    const { page, close } = await visit(stage.browser, 'phone');
    await stage.openSheet(page, instrumentId);
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
});
