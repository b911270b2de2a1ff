/** What each page owes everybody: no barrier, no sideways scroll, one heading and no complaint, in light and dark. */
import type { Page } from 'playwright-core';
import { expect, test } from 'vitest';
import { barriers, type Device, picture, sidewaysPx, type Visitor } from './chromium.ts';

/** Looks at the page as it stands, leaves a picture of it in each scheme, and the page in light. */
export async function inBothSchemes(page: Page, pictureName: string): Promise<void> {
  for (const scheme of ['light', 'dark'] as const) {
    await page.emulateMedia({ colorScheme: scheme });
    await picture(page, `${pictureName}${scheme === 'dark' ? '-dark' : ''}`);
    expect(await sidewaysPx(page)).toBe(0);
    expect(await barriers(page, scheme === 'light' ? 'whole' : 'colours')).toEqual([]);
    expect(await page.locator('h1').count()).toBe(1);
  }
  await page.emulateMedia({ colorScheme: 'light' });
}

/**
 * A test for each page on each device.
 *
 * @param pages the address of each, asked for once it is known
 * @param open comes back once the page shows what is to be looked at
 */
export function eachForEverybody<Name extends string>(
  pages: Readonly<Record<Name, () => string>>,
  open: (path: string, device: Device, name: Name) => Promise<Visitor>,
): void {
  for (const device of ['phone', 'laptop'] as const) {
    for (const [name, path] of Object.entries<() => string>(pages) as [Name, () => string][]) {
      test(`${name} on a ${device}: in light and dark no barrier, no sideways scroll, no complaint`, async () => {
        const { page, complaints, close } = await open(path(), device, name);
        await inBothSchemes(page, `${name}-${device}`);
        expect(complaints).toEqual([]);
        await close();
      });
    }
  }
}
