/**
 * What comes, why it moved and how past words fared: on the invented fleet, in a real browser, against what the service
 * itself answers. Whether its numbers are right is the business of tests/drift.
 */
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import type { BestDates, Forecast, Learned, LookBackPage } from '../../server/contract/index.ts';
import { plain } from '../support/plain.ts';
import { showStretch, wordsAt } from './chart-hands.ts';
import { barriers, chromiumIsHere, picture } from './chromium.ts';
import { driftStage, number, rounded } from './drift-stage.ts';
import { inBothSchemes } from './for-everybody.ts';

describe.skipIf(!chromiumIsHere)('drift on the instrument’s page', { timeout: 180_000 }, () => {
  const stage = driftStage();

  for (const device of ['phone', 'laptop'] as const) {
    test(`on a ${device}: in light and dark no barrier, no sideways scroll, no complaint`, async () => {
      const { page, complaints, close } = await stage.openPage(device);
      await page.getByRole('button', { name: 'Work it out' }).click();
      await page.locator('.what-if-result table').waitFor();
      await inBothSchemes(page, `drift-${device}`);
      expect(complaints).toEqual([]);
      await close();
    });
  }

  test('the opening says what the service decided, and when', async () => {
    const { page, answered, close } = await stage.openPage();
    const { decision, wait } = await answered<Forecast>('forecast');
    const ahead = plain(await page.locator('.ahead').textContent());
    expect(ahead).toContain(plain(decision?.because ?? 'nothing decided'));
    if (wait) expect(ahead).toContain(plain(wait.why));
    expect(plain(await page.locator('.advice').textContent())).not.toBe('');
    await close();
  });

  /**
   * Pixels of the fans in one column of each plot: neutral grey over the white sheet in air and board, tinted by the accent
   * in pitch. Paper, grid and tolerance are all warm (more red than blue), the bare sheet is white; where a plot shows too
   * little of it, the column is not of the coming days and counts nothing.
   */
  function fansAt(page: Page, part: number): Promise<number[]> {
    return page.evaluate((where) => {
      return [...document.querySelectorAll<HTMLCanvasElement>('.plot canvas')].map((canvas, plot) => {
        const context = canvas.getContext('2d');
        const over = canvas.parentElement?.querySelector('.u-over');
        if (!context || !over) throw new Error('no plot');
        const ratio = canvas.width / canvas.getBoundingClientRect().width;
        const box = over.getBoundingClientRect();
        const left = (box.left - canvas.getBoundingClientRect().left + box.width * where) * ratio;
        const top = (box.top - canvas.getBoundingClientRect().top) * ratio;
        const height = Math.floor(box.height * ratio);
        const { data } = context.getImageData(Math.round(left), Math.round(top), 1, height);
        let inked = 0;
        let bare = 0;
        for (let i = 0; i < data.length; i += 4) {
          const [red = 0, green = 0, blue = 0] = data.slice(i, i + 3);
          if (red === 255 && green === 255 && blue === 255) bare += 1;
          const grey = red < 250 && Math.abs(red - blue) <= 4;
          if (plot === 2 ? blue > red : grey) inked += 1;
        }
        return bare > 10 ? inked : 0;
      });
    }, part);
  }

  test('the coming days stand as fans on a lighter sheet, and are spoken with their band', async () => {
    const { page, answered, close } = await stage.openPage();
    const forecast = await answered<Forecast>('forecast');
    // 365 days past and 120 to come: 0.9 of the width lies well in the coming ones.
    await expect.poll(async () => Math.min(...(await fansAt(page, 0.9)))).toBeGreaterThan(10);
    await showStretch(page, 'coming');
    await page.locator('.plots').focus();
    await page.keyboard.press('End');
    const spoken = page.locator('.chart [aria-live="polite"]');
    await expect.poll(async () => plain(await spoken.textContent())).toContain('foretold: air');
    const name = plain(await page.locator('.plot-head h3').nth(2).textContent()).split(',')[0] ?? '';
    const fan = forecast.registers.find(({ register }) => register === name.toLowerCase())?.offsetCents;
    const said = /(\S+) cents? \((\S+) cents? to (\S+) cents?\)$/.exec(plain(await spoken.textContent()));
    expect([said?.[2], said?.[1], said?.[3]].map((text) => number(text ?? null))).toEqual(
      [fan?.low.at(-1), fan?.middle.at(-1), fan?.high.at(-1)].map((value) => rounded(value, 0)),
    );
    // The same day, the same band, in the sentence under the chart and in the table.
    const told = plain(await page.locator('.coming-words').textContent());
    // One is a cent.
    expect(told.replaceAll(/\bcent\b/g, 'cents')).toContain(
      `at ${said?.[1]} cents (8 in 10 between ${said?.[2]}`,
    );
    // A day in between: the cursor says that day's band, not one near it.
    const day = 30;
    const { humidityPct, timesMs } = forecast;
    const untilMs = timesMs.at(-1) ?? 0;
    const fromMs = Date.now() - 14 * 86_400_000;
    const part = ((timesMs[day] ?? 0) - fromMs) / (untilMs - fromMs);
    const [least, middle, most] = [humidityPct.low, humidityPct.middle, humidityPct.high].map((column) =>
      (column[day] ?? 0).toFixed(0),
    );
    await expect.poll(() => wordsAt(page, part)).toContain(`foretold ${middle} % (${least} % to ${most} %)`);
    await page.getByText('The same as a table').click();
    const last = plain(await page.locator('.chart table').last().locator('tr').last().textContent());
    expect(last).toContain(`${said?.[1]} (${said?.[2]} to ${said?.[3]})`);
    await close();
  });

  test('as many coming days as past ones; a past stretch drawn out shows none', async () => {
    const { page, close } = await stage.openPage();
    await showStretch(page, '30 d');
    await expect.poll(async () => Math.min(...(await fansAt(page, 0.9)))).toBeGreaterThan(10);
    // Half of the width is the past: the edge of the sheet.
    await expect.poll(() => wordsAt(page, 0.55)).toContain('foretold');
    await expect.poll(() => wordsAt(page, 0.45)).not.toContain('foretold');
    await close();
  });

  test('the causes add up to what the register did, in every register', async () => {
    const { page: seen, answered, close } = await stage.openPage();
    const learned = await answered<Learned>('learned');
    for (const register of ['Bass', 'Top']) {
      await seen.locator('.learned-from').getByRole('radio', { name: register, exact: true }).check();
      await expect
        .poll(() => seen.locator('.why h2').textContent())
        .toBe(`Why the ${register.toLowerCase()} moved`);
      const told = learned.whyMoved.filter((one) => one.register === register.toLowerCase());
      expect(await seen.locator('.why .stretch').count()).toBe(told.length);
      for (const [i, one] of told.entries()) {
        const shares = await seen.locator('.why .stretch').nth(i).locator('td.n').allTextContents();
        const sum = shares.reduce((all, text) => all + number(text), 0);
        // Each of up to five shares is rounded to a tenth.
        expect(Math.abs(sum - one.totalCents)).toBeLessThan(0.3);
      }
    }
    await close();
  });

  test('sensitivity, scatter and look-back show what was learned, with the scores of all rivals', async () => {
    const { page, answered, close } = await stage.openPage();
    const [learned, back] = [await answered<Learned>('learned'), await answered<LookBackPage>('look-back')];
    await page.locator('.learned-from').getByRole('radio', { name: 'Middle', exact: true }).check();
    const middle = learned.sensitivity.find(({ register }) => register === 'middle');
    await expect
      .poll(async () => plain(await page.locator('.how-far > p').first().textContent()))
      .toContain(`The middle moves ${middle?.centsPerPct.toFixed(1)} cents for each point`);
    const points = learned.points.filter(({ register }) => register === 'middle');
    expect(await page.locator('.scatter circle').count()).toBe(points.length);
    expect(await page.locator('.scatter svg').getAttribute('aria-label')).toContain(
      middle?.centsPerPct.toFixed(1),
    );
    const scored = back.visits.filter(({ registers }) =>
      registers.some(({ register }) => register === 'middle'),
    );
    const rows = page.locator('.look-back table').first().locator('tbody tr');
    expect(await rows.count()).toBe(scored.length);
    const newest = scored[0]?.registers.find(({ register }) => register === 'middle');
    const first = await rows.first().locator('td').allTextContents();
    expect([number(first[0] ?? ''), number(first[2] ?? '')]).toEqual([
      rounded(newest?.saidCents, 1),
      rounded(newest?.foundCents, 1),
    ]);
    const scores = plain(await page.locator('.scores').textContent());
    for (const { name, missCents } of back.fleet.rivals) {
      expect(scores).toContain(name);
      expect(scores).toContain(missCents.toFixed(1));
    }
    for (const { because } of learned.leftOut)
      expect(await page.locator('.left-out').textContent()).toContain(because);
    await close();
  });

  test('unisons stand beside the registers, the same as among the numbers', async () => {
    const { page, answered, close } = await stage.openPage();
    const { spreadCents, timesMs } = await answered<Forecast>('forecast');
    // A forecast that was made before midnight begins with a day that is over.
    const first = timesMs.findIndex((timeMs) => timeMs > Date.now());
    const today = spreadCents?.middle[first]?.toFixed(1) ?? 'unknown';
    expect(plain(await page.locator('.unisons td.n').textContent())).toMatch(new RegExp(`^${today} \\(`));
    expect(plain(await page.locator('.numbers').textContent())).toContain(`Unisons, predicted${today} cents`);
    await close();
  });

  test('the best weeks follow the number of tunings', async () => {
    const { page, answered, close } = await stage.openPage();
    for (const tunings of [1, 3]) {
      await page
        .locator('.best-dates')
        .getByRole('radio', { name: `${tunings}`, exact: true })
        .check();
      await expect.poll(() => page.locator('.best-dates li').count()).toBe(tunings);
      const best = await answered<BestDates>(`best-dates?tunings=${tunings}`);
      expect(plain(await page.locator('.best-dates').textContent())).toContain(best.words);
    }
    await close();
  });

  test('before anything is known each panel says what it waits for', async () => {
    for (const id of [stage.unheard, stage.untuned]) {
      const { page, complaints, answered, close } = await stage.openPage('laptop', id);
      await page.locator('.ahead').waitFor();
      const { basis, decision } = await answered<Forecast>('forecast');
      expect(decision).toBeNull();
      await expect.poll(() => page.locator('.ahead').textContent()).toBe(basis);
      expect(await page.locator('input[name="range"][value="coming"]').count()).toBe(0);
      await expect
        .poll(() => page.locator('.why').textContent())
        .toContain('Nothing to tell before a tuning');
      await expect
        .poll(() => page.locator('.how-far').textContent())
        .toContain('Nothing of its own is learned yet');
      await expect
        .poll(() => page.locator('.learned-from').textContent())
        .toContain('No interval of its own yet');
      await expect
        .poll(() => page.locator('.look-back').textContent())
        .toContain('No visit could be scored yet');
      expect(await page.locator('.best-dates').textContent()).toContain(basis);
      expect(await page.locator('.unisons').count()).toBe(0);
      await picture(page, `drift-${id === stage.unheard ? 'unheard' : 'untuned'}-laptop`);
      expect(await barriers(page)).toEqual([]);
      expect(complaints).toEqual([]);
      await close();
    }
  });
});
