/** The system's Chromium, driven for real, with everything the page complains of gathered on the way. */
import { existsSync, mkdirSync } from 'node:fs';
import path from 'node:path';
import { AxeBuilder } from '@axe-core/playwright';
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core';
import { hasProgram } from '../support/service.ts';

const pictures = path.resolve(import.meta.dirname, '../../.test-output/browser');

/** Widths the pages are made for: a phone held upright, a laptop. */
export const widths = { phone: 390, laptop: 1280 } as const;
export type Device = keyof typeof widths;

export interface Visitor {
  readonly page: Page;
  readonly context: BrowserContext;
  /** What the browser's console and the page's own errors said, in order. */
  readonly complaints: readonly string[];
  close(): Promise<void>;
}

/** The same engine without windows and menus of its own, which cost two fifths of the browser's work and nobody sees. */
const windowless = '/usr/bin/chromium-headless-shell';
const withoutWindows = existsSync(windowless);

export const chromiumIsHere = withoutWindows || hasProgram('chromium');

export function launch(): Promise<Browser> {
  return chromium.launch({
    executablePath: withoutWindows ? windowless : '/usr/bin/chromium',
    timeout: 90_000,
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

/** @param timeZone of the visitor's own device, on purpose another than the venue's */
export async function visit(
  browser: Browser,
  device: Device,
  options: { readonly timeZone?: string } = {},
): Promise<Visitor> {
  const phone = device === 'phone';
  const context = await browser.newContext({
    viewport: { width: widths[device], height: phone ? 844 : 900 },
    colorScheme: 'light',
    timezoneId: options.timeZone ?? 'America/New_York',
    hasTouch: phone,
    isMobile: phone,
    locale: 'en-GB',
  });
  // What is waited for always comes, late on a slow machine.
  context.setDefaultTimeout(60_000);
  const page = await context.newPage();
  const complaints: string[] = [];
  page.on('console', (message) => {
    if (['error', 'warning'].includes(message.type())) complaints.push(message.text());
  });
  page.on('pageerror', (error) => complaints.push(error.stack ?? error.message));
  return { page, context, complaints, close: () => context.close() };
}

export async function picture(page: Page, name: string): Promise<void> {
  mkdirSync(pictures, { recursive: true });
  // A picture of the whole page shows rows that were never scrolled to. (The policy forbids an inline <style>.)
  await page.evaluate(() => {
    const everything = new CSSStyleSheet();
    everything.replaceSync('* { content-visibility: visible !important }');
    document.adoptedStyleSheets = [everything];
  });
  await page.screenshot({ path: path.join(pictures, `${name}.png`), fullPage: true });
}

const wcag = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];
/** Of those, what hangs on the colours alone. */
const byColour = ['color-contrast', 'link-in-text-block'];

/**
 * What axe finds against WCAG 2.2 A and AA, serious and critical only, each in one line.
 *
 * @param looked at `colours` only where the same page was looked at whole in its other scheme
 */
export async function barriers(page: Page, looked: 'whole' | 'colours' = 'whole'): Promise<string[]> {
  // Else axe opens a page of its own each time, to put together what frames of elsewhere said: ours have none.
  const axe = new AxeBuilder({ page }).setLegacyMode(true).options({ resultTypes: ['violations'] });
  const { violations } = await (looked === 'whole' ? axe.withTags(wcag) : axe.withRules(byColour)).analyze();
  return violations
    .filter(({ impact }) => impact === 'serious' || impact === 'critical')
    .flatMap(({ id, nodes }) =>
      nodes.map(({ target, failureSummary }) => `${id} ${target}: ${failureSummary}`),
    );
}

/** How far the page reaches beyond its right edge, CSS px. */
export function sidewaysPx(page: Page): Promise<number> {
  return page.evaluate(() =>
    Math.max(0, document.documentElement.scrollWidth - document.documentElement.clientWidth),
  );
}
