/** Condition of the fleet, inspections side by side, inventory and what is reported: in a real browser, nobody shut out. */
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Remark } from '../../server/contract/index.ts';
import { api } from '../support/api.ts';
import { type RunningService, startService, temporaryFolder } from '../support/service.ts';
import { finding, inspection } from '../visits/sheet.ts';
import { barriers, chromiumIsHere, launch, picture, sidewaysPx, visit } from './chromium.ts';

describe.skipIf(!chromiumIsHere)('the fleet and its records', () => {
  const folder = temporaryFolder();
  let service: RunningService;
  let browser: Browser;
  let client: ReturnType<typeof api>;
  let instrumentId: string;

  beforeAll(async () => {
    service = await startService(folder.path);
    client = api(service.url);
    ({ instrumentId } = await client.house());
    for (const [days, conditionClass] of [
      [800, 1],
      [60, 3],
    ] as const) {
      const { id, ...body } = inspection(instrumentId, Date.now() - days * 86_400_000, [
        finding({ itemId: 'ribs.separated', conditionClass, words: 'treble end' }),
      ]);
      await client.put(`/api/visits/${id}`, body);
    }
    browser = await launch();
  });
  afterAll(async () => {
    await browser?.close();
    await service?.kill('SIGTERM');
    folder.remove();
  });

  for (const device of ['phone', 'laptop'] as const) {
    for (const [name, address, words] of [
      ['fleet', () => '/fleet', '1 major finding|one instrument has|One instrument has'],
      ['inspections', () => `/instruments/${instrumentId}/inspections`, '1 of \\d+ items changed'],
      ['inventory', () => '/inventory', 'What goes in and out'],
    ] as const) {
      test(`${name} on a ${device}: in light and dark no barrier, no sideways scroll, no complaint`, async () => {
        const { page, complaints, close } = await visit(browser, device);
        await page.goto(service.url + address());
        await page.getByText(new RegExp(words)).first().waitFor();
        for (const colorScheme of ['light', 'dark'] as const) {
          await page.emulateMedia({ colorScheme });
          await picture(page, `${name}-${device}-${colorScheme}`);
          expect(await barriers(page)).toEqual([]);
        }
        expect(await sidewaysPx(page)).toBe(0);
        expect(complaints).toEqual([]);
        await close();
      });
    }
  }

  test('a complaint by telephone is typed, kept, and answered at once', async () => {
    const { page, close } = await visit(browser, 'phone');
    await page.goto(`${service.url}/instruments/${instrumentId}`);
    await page.getByLabel('What was reported').fill('buzz on C5');
    await page.keyboard.press('Enter');
    await page.getByText(/^Kept\. No tuning is recorded yet/).waitFor();
    await page.getByText('Opens on the next visit sheet.').waitFor();
    const [kept] = await client.get<Remark[]>(`/api/remarks?instrument=${instrumentId}`);
    expect(kept?.words).toBe('buzz on C5');
    await close();
  });

  test('an inventory is seen row by row before it is kept', async () => {
    const { page, close } = await visit(browser, 'laptop');
    await page.goto(`${service.url}/inventory`);
    const csv = 'venue,room,name,kind\nRowan College,Hall,Grand A,grand\nRowan College,Hall,Grand B,harp\n';
    await page
      .getByLabel('CSV file')
      .setInputFiles({ name: 'fleet.csv', mimeType: 'text/csv', buffer: Buffer.from(csv) });
    await page.getByText('kind: "harp" must be grand or upright.').waitFor();
    await page.getByRole('button', { name: 'Keep 1 row' }).click();
    await page.getByText('1 made, 0 changed, 1 left as they were.').waitFor();
    await close();
  });
});
