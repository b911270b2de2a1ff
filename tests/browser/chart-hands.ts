/** What hands do on the chart of an instrument, for the tests of it. */
import type { Page } from 'playwright-core';
import { expect } from 'vitest';
import { plain } from '../support/plain.ts';

/** Until all is drawn, and all that stands above: what comes later moves the plots from under the pointer. */
export async function chartIsWhole(page: Page): Promise<void> {
  await page.locator('.plot canvas').nth(2).waitFor();
  // With the forecast the coming days join the past ones, as many of them, up to 120.
  await page.locator('input[name="range"][value="coming"]').waitFor({ state: 'attached' });
  await page.locator('.best-dates li').first().waitFor();
}

/** Chooses a stretch of time and waits until it is drawn: what is told of it begins on another day. */
export async function showStretch(page: Page, name: string): Promise<void> {
  const words = page.locator('figure.chart figcaption');
  const begins = async () => /^Between (.+?) and /.exec(plain(await words.textContent()))?.[1];
  const before = await begins();
  await page.getByRole('radio', { name, exact: true }).check();
  await expect.poll(begins).not.toBe(before);
}

/** @param plot 0 the air, 1 the board, 2 the pitch */
export async function plotBox(page: Page, plot = 1) {
  const over = page.locator('.plot .u-over').nth(plot);
  await over.scrollIntoViewIfNeeded();
  const box = await over.boundingBox();
  if (!box) throw new Error('the plot has no box');
  return box;
}

/** @returns what the chart says where the mouse stands, a part of the width from the left; asked again it points anew */
export async function wordsAt(page: Page, part: number): Promise<string> {
  const { x, y, width, height } = await plotBox(page);
  const [left, top] = [x + width * part, y + height / 2];
  await page.mouse.move(left - 2, top);
  await page.mouse.move(left, top);
  return plain(await page.locator('.plot-now').first().textContent());
}
