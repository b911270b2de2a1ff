/** Every page on paper: nothing runs over the edge of an A4 sheet, nothing to press is printed, what is chosen can be seen. */
import { execFileSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import {
  addGateway,
  hasProgram,
  type RunningService,
  startService,
  temporaryFolder,
} from '../support/service.ts';
import { chromiumIsHere, launch, sidewaysPx, visit } from './chromium.ts';
import { type Fleet, seedFleet } from './fleet.ts';

const pictures = path.resolve(import.meta.dirname, '../../.test-output/print');
/** A4 between margins of 15 mm, at 96 px an inch. */
const paperPx = Math.round((180 / 25.4) * 96);

describe.skipIf(!(chromiumIsHere && hasProgram('pdftotext') && hasProgram('pdftoppm')))(
  'on paper',
  { timeout: 180_000 },
  () => {
    const folder = temporaryFolder();
    let service: RunningService;
    let browser: Browser;
    let fleet: Fleet;

    beforeAll(async () => {
      mkdirSync(pictures, { recursive: true });
      const gateway = addGateway(folder.path, 'attic');
      service = await startService(folder.path);
      fleet = await seedFleet(service, gateway.token);
      browser = await launch();
    });
    afterAll(async () => {
      await browser?.close();
      await service?.kill('SIGTERM');
      folder.remove();
    });

    const pages: Record<string, () => string> = {
      instruments: () => '/',
      instrument: () => `/instruments/${fleet.flat}`,
      inspections: () => `/instruments/${fleet.flat}/inspections`,
      tuning: () => `/instruments/${fleet.flat}/visit`,
      sheet: () => `/instruments/${fleet.calm}/sheet`,
      fleet: () => '/fleet',
      inventory: () => '/inventory',
      device: () => '/device',
      rounds: () => '/rounds',
      year: () => '/rounds/year',
      rooms: () => '/rooms',
      people: () => '/people',
      notices: () => '/notices',
      events: () => '/events',
      bench: () => '/sensors/bench',
      messages: () => '/people/messages',
      'care-words': () => '/people/words',
      'settings-watch': () => '/settings/watch',
      'watch-quality': () => '/settings/watch-quality',
      sensors: () => '/sensors',
      settings: () => '/settings',
      'settings-instrument': () => `/settings/instruments/${fleet.flat}`,
    };

    test.each(Object.keys(pages))('%s', async (name) => {
      const { page, complaints, close } = await visit(browser, 'laptop');
      await page.goto(service.url + pages[name]?.());
      await page.locator('h1').first().waitFor();
      await page.waitForLoadState('networkidle');
      await page.evaluate(() => document.fonts.ready);
      const heading = (await page.locator('h1').first().textContent()) ?? '';
      const bytes = await page.pdf({ format: 'A4' });
      const file = path.join(pictures, `${name}.pdf`);
      writeFileSync(file, bytes);
      execFileSync('pdftoppm', ['-r', '60', '-png', file, path.join(pictures, name)]);
      const text = execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' });
      expect(text.replace(/\s+/g, ' ')).toContain(heading.replace(/\s+/g, ' ').trim());
      for (const button of await page.locator('button.button:visible').allTextContents()) {
        if (button.trim() !== '')
          expect(text.split('\n').map((line) => line.trim())).not.toContain(button.trim());
      }
      // As the printer lays it out: no shrinking, which is what browsers do to a page that runs over.
      await page.setViewportSize({ width: paperPx, height: 1000 });
      await page.emulateMedia({ media: 'print' });
      expect(await sidewaysPx(page)).toBe(0);
      expect(complaints).toEqual([]);
      await close();
    });

    test('what is chosen stands out without a background', async () => {
      const { page, close } = await visit(browser, 'laptop');
      await page.goto(`${service.url}/instruments/${fleet.calm}/visit`);
      const chosen = page.locator('.segments :checked + span').first();
      await chosen.waitFor();
      await page.emulateMedia({ media: 'print' });
      const style = await chosen.evaluate((span) => {
        const { color, outlineWidth, backgroundColor } = getComputedStyle(span);
        return { color, outlineWidth, backgroundColor };
      });
      expect(style.outlineWidth).toBe('2px');
      expect(style.backgroundColor).toBe('rgba(0, 0, 0, 0)');
      // Ink, as of the page's own text.
      expect(style.color).toBe(await page.locator('h1').evaluate((h1) => getComputedStyle(h1).color));
      await close();
    });
  },
);
