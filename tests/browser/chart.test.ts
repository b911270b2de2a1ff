/** The chart in a real browser: zoomed by mouse, finger and keyboard, gaps left open, read aloud. */
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { plain } from '../support/plain.ts';
import { standing } from '../support/standing.ts';
import { chartIsWhole, plotBox, showStretch } from './chart-hands.ts';
import { chromiumIsHere, type Device, picture, visit } from './chromium.ts';
import { fleetStage, gapDaysAgo } from './fleet.ts';

describe.skipIf(!chromiumIsHere)('chart', { timeout: 120_000 }, () => {
  const fleet = standing(fleetStage, 180_000);

  async function open(device: Device) {
    const visitor = await fleet.open(`/instruments/${fleet.flat}`, device);
    await chartIsWhole(visitor.page);
    return visitor;
  }

  /** The answers' windows, from the requests the page makes: what was really asked for. */
  function windowAsked(page: Page): Promise<{ from: number; to: number }> {
    return page
      .waitForRequest((request) => request.url().includes('/climate?') && request.url().includes('to='))
      .then((request) => {
        const query = new URL(request.url()).searchParams;
        return { from: Number(query.get('from')), to: Number(query.get('to')) };
      });
  }

  test('a stretch drawn out with the mouse is asked for anew, in more detail', async () => {
    const { page, complaints, close } = await open('laptop');
    // Drawn from the year, a stretch would be as long as four.
    await showStretch(page, '90 d');
    const box = await plotBox(page);
    const middle = box.y + box.height / 2;
    const asked = windowAsked(page);
    await page.mouse.move(box.x + box.width * 0.3, middle);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width * 0.35, middle, { steps: 4 });
    await page.mouse.move(box.x + box.width * 0.425, middle, { steps: 4 });
    await page.mouse.up();
    const { from, to } = await asked;
    // An eighth of 90 days past and 90 to come, give or take what the pointer and the axis round.
    expect((to - from) / 86_400_000).toBeGreaterThan(20);
    expect((to - from) / 86_400_000).toBeLessThan(25);
    await page.locator('input[name="range"][value="drawn"]:checked').waitFor({ state: 'attached' });
    await picture(page, 'chart-zoomed-laptop');
    // Twice pressed, the year is back.
    await page.mouse.dblclick(box.x + box.width / 2, middle);
    await page.locator('input[name="range"][value="1 y"]:checked').waitFor({ state: 'attached' });
    expect(complaints).toEqual([]);
    await close();
  });

  test('a finger that goes sideways draws out a stretch; one that goes up scrolls the page', async () => {
    const { page, context, close } = await open('phone');
    const box = await plotBox(page);
    const touch = await context.newCDPSession(page);
    const swipe = async (from: [number, number], to: [number, number]) => {
      const point = (part: number) => [
        { x: from[0] + (to[0] - from[0]) * part, y: from[1] + (to[1] - from[1]) * part },
      ];
      await touch.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints: point(0) });
      for (const part of [0.1, 0.2, 0.4, 0.6, 0.8, 1]) {
        await touch.send('Input.dispatchTouchEvent', { type: 'touchMove', touchPoints: point(part) });
      }
      await touch.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] });
    };
    const middle = box.y + box.height / 2;
    const asked = windowAsked(page);
    await swipe([box.x + box.width * 0.5, middle], [box.x + box.width * 0.61, middle]);
    const { from, to } = await asked;
    expect((to - from) / 86_400_000).toBeGreaterThan(40);
    expect((to - from) / 86_400_000).toBeLessThan(70);
    await page.locator('input[name="range"][value="drawn"]:checked').waitFor({ state: 'attached' });

    const label = await page.locator('input[name="range"]:checked + span').textContent();
    const again = await plotBox(page);
    const scrolledBefore = await page.evaluate(() => window.scrollY);
    const centre = again.x + again.width / 2;
    await swipe([centre, again.y + again.height * 0.8], [centre, again.y + again.height * 0.8 - 200]);
    await expect.poll(() => page.evaluate(() => window.scrollY)).toBeGreaterThan(scrolledBefore + 50);
    expect(await page.locator('input[name="range"]:checked + span').textContent()).toBe(label);
    await close();
  });

  test('with the keyboard the cursor walks and its values are spoken; plus zooms in, Escape goes back', async () => {
    const { page, close } = await open('laptop');
    const plots = page.locator('.plots');
    await plots.focus();
    // The walk begins today.
    for (let i = 0; i < 3; i += 1) await page.keyboard.press('ArrowLeft');
    const spoken = page.locator('.chart [aria-live="polite"]');
    await expect
      .poll(async () => (await spoken.textContent())?.replaceAll('\u00a0', ' '))
      .toMatch(
        /^\w{3} \d+ \w+ \d{4}, \d\d:\d\d; inside \d+ %; room \d+ %; board \d\.\d %, .+; Tenor −\d+ ± \d+ cents$/,
      );
    const first = await spoken.textContent();
    await page.keyboard.press('Shift+ArrowLeft');
    await expect.poll(() => spoken.textContent()).not.toBe(first);
    await page.keyboard.press('Home');
    const asked = windowAsked(page);
    await page.keyboard.press('+');
    const { from, to } = await asked;
    // Half of a year and the 120 days to come.
    expect((to - from) / 86_400_000).toBeGreaterThan(230);
    expect((to - from) / 86_400_000).toBeLessThan(250);
    await page.keyboard.press('Escape');
    await page.locator('input[name="range"][value="1 y"]:checked').waitFor({ state: 'attached' });
    await close();
  });

  test('a gap stays a gap, on the canvas and in the table', async () => {
    const { page, close } = await open('laptop');
    await showStretch(page, '90 d');
    await page.getByText('The same as a table').click();
    await expect
      .poll(() => page.locator('.chart table').first().locator('tbody tr').count())
      .toBeLessThan(20);
    // In the middle of the four silent days no ink of a line stands in the air's plot; a week before it does.
    const inkAt = (daysAgo: number) =>
      page.evaluate(
        (part) => {
          const canvas = document.querySelector<HTMLCanvasElement>('.plot canvas');
          const over = document.querySelector('.plot .u-over');
          const context = canvas?.getContext('2d');
          if (!canvas || !over || !context) throw new Error('no plot');
          const ratio = canvas.width / canvas.getBoundingClientRect().width;
          const box = over.getBoundingClientRect();
          const left = (box.left - canvas.getBoundingClientRect().left + box.width * part) * ratio;
          const top = (box.top - canvas.getBoundingClientRect().top) * ratio;
          const { data } = context.getImageData(
            Math.round(left),
            Math.round(top),
            1,
            Math.floor(box.height * ratio),
          );
          let dark = 0;
          // Grid lines are pale; the line of the inside air is near black.
          for (let i = 0; i < data.length; i += 4) {
            if ((data[i + 3] ?? 0) > 200 && (data[i] ?? 255) < 90) dark += 1;
          }
          return dark;
        },
        // 90 days past, and as many to come.
        (90 - daysAgo) / 180,
      );
    await expect.poll(() => inkAt(gapDaysAgo.from + 7)).toBeGreaterThan(0);
    expect(await inkAt((gapDaysAgo.from + gapDaysAgo.to) / 2)).toBe(0);
    await close();
  });

  test('the chart is told in words beside it, and the air can be read as temperature', async () => {
    const { page, close } = await open('laptop');
    const told = (await page.locator('figcaption').textContent())?.replaceAll('\u00a0', ' ');
    expect(told).toMatch(/inside air went from \d+ % to \d+ %.*the board went from \d\.\d % to \d\.\d %/);
    expect(told).toContain('Two tunings in this time.');
    await page.getByRole('radio', { name: 'temperature', exact: true }).check();
    await expect.poll(() => page.locator('.plot-head h3').first().textContent()).toBe('Air, warmth in °C');
    expect((await page.locator('.plot-now').first().textContent())?.replaceAll('\u00a0', ' ')).toContain(
      '20.5 °C',
    );
    await close();
  });

  test('a phone in another zone reads the venue’s days', async () => {
    const today = new Intl.DateTimeFormat('en-GB', {
      day: 'numeric',
      month: 'short',
      timeZone: 'Europe/Vienna',
    });
    const before = today.format(Date.now());
    const there = await visit(fleet.browser, 'laptop', { timeZone: 'Pacific/Auckland' });
    await there.page.goto(`${fleet.service.url}/instruments/${fleet.flat}`);
    await there.page.locator('.plot canvas').nth(2).waitFor();
    await showStretch(there.page, '30 d');
    await there.page.getByText('The same as a table').click();
    const rows = there.page.locator('.chart table').first().locator('tbody th');
    await expect.poll(() => rows.count()).toBeGreaterThan(25);
    const last = plain(await rows.last().textContent());
    // Midnight may have passed since it was asked.
    expect([before, today.format(Date.now())]).toContain(last);
    await there.close();
  });
});
