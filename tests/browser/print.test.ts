/** Every page on paper: nothing runs over the edge of an A4 sheet, nothing to press is printed, what is chosen can be seen. */
import { execFileSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { hasProgram } from '../support/service.ts';
import { standing } from '../support/standing.ts';
import { chromiumIsHere, sidewaysPx } from './chromium.ts';
import { fleetStage } from './fleet.ts';

const pictures = path.resolve(import.meta.dirname, '../../.test-output/print');
/** A4 between margins of 15 mm, at 96 px an inch. */
const paperPx = Math.round((180 / 25.4) * 96);

describe.skipIf(!(chromiumIsHere && hasProgram('pdftotext') && hasProgram('pdftoppm')))(
  'on paper',
  { timeout: 180_000 },
  () => {
    const fleet = standing(async (undo) => {
      mkdirSync(pictures, { recursive: true });
      return fleetStage(undo);
    }, 180_000);

    const pages: Record<string, () => string> = {
      instruments: () => '/instruments',
      instrument: () => `/instruments/${fleet.flat}`,
      inspections: () => `/instruments/${fleet.flat}/inspections`,
      tuning: () => `/instruments/${fleet.flat}/visit`,
      sheet: () => `/instruments/${fleet.calm}/sheet`,
      fleet: () => '/fleet',
      inventory: () => '/inventory',
      device: () => '/device',
      rounds: () => '/',
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

    test.each(Object.entries(pages))('%s', async (name, address) => {
      const { page, complaints, close } = await fleet.open(address());
      await page.waitForLoadState('networkidle');
      const heading = async () =>
        ((await page.locator('h1').first().textContent()) ?? '').replace(/\s+/g, ' ').trim();
      const before = await heading();
      const bytes = await page.pdf({ format: 'A4' });
      // What it says may change while it is printed.
      const headings = [before, await heading()];
      const file = path.join(pictures, `${name}.pdf`);
      writeFileSync(file, bytes);
      execFileSync('pdftoppm', ['-r', '60', '-png', file, path.join(pictures, name)]);
      const text = execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' });
      const words = text.replace(/\s+/g, ' ');
      expect(headings.filter((one) => words.includes(one))).not.toEqual([]);
      for (const button of await page.locator('button.button:visible').allTextContents()) {
        if (button.trim() !== '')
          expect(text.split('\n').map((line) => line.trim())).not.toContain(button.trim());
      }
      // As the printer lays it out: no shrinking, which is what browsers do to a page that runs over.
      await page.setViewportSize({ width: paperPx, height: 1000 });
      await page.emulateMedia({ media: 'print' });
      // A chart follows the width with the next frame.
      await expect.poll(() => sidewaysPx(page)).toBe(0);
      expect(complaints).toEqual([]);
      await close();
    });

    test('what is chosen stands out without a background', async () => {
      const { page, close } = await fleet.open(`/instruments/${fleet.calm}/visit`);
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
