/** Condition of the fleet, inspections side by side, inventory and what is reported: in a real browser, nobody shut out. */
import { randomUUID } from 'node:crypto';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Remark } from '../../server/contract/index.ts';
import { api, instrumentBody } from '../support/api.ts';
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

  test('the fleet in the order of a column: class, age, use, risk; what is not known comes last', async () => {
    const { roomId } = await client.house({ name: 'Grand never inspected', year: null, use: 'home' });
    const others = [
      { name: 'Upright of the cellar', year: 1905, use: 'practice' as const, conditionClass: 1 as const },
      { name: 'Grand of the hall', year: 2019, use: 'concert' as const, conditionClass: 2 as const },
    ];
    for (const { name, year, use, conditionClass } of others) {
      const one = randomUUID();
      await client.put(`/api/instruments/${one}`, { ...instrumentBody, name, year, use, roomId });
      const { id, ...body } = inspection(one, Date.now() - 86_400_000, [
        finding({ itemId: 'ribs.separated', conditionClass }),
      ]);
      await client.put(`/api/visits/${id}`, body);
    }
    const { page, close } = await visit(browser, 'laptop');
    await page.goto(`${service.url}/fleet`);
    await page.locator('.fleet tbody tr').nth(3).waitFor();
    const column = (title: string) =>
      page.locator('.fleet').evaluate((table, wanted) => {
        const heads = [...table.querySelectorAll('thead th')].map((th) => th.textContent ?? '');
        const at = heads.findIndex((words) => words.startsWith(wanted));
        return [...table.querySelectorAll('tbody tr')].map((row) => row.children[at]?.textContent?.trim());
      }, title);
    const by = (title: string) => page.locator('.fleet thead').getByRole('button', { name: title }).click();
    const sortedDown = (values: (string | undefined)[]) => {
      const numbers = values.map((value) => (value === '–' ? Number.NEGATIVE_INFINITY : Number(value)));
      expect(numbers).toEqual(numbers.toSorted((a, b) => b - a));
    };
    sortedDown(await column('Priority'));
    await by('Age');
    const ages = await column('Age');
    sortedDown(ages);
    expect(ages.at(-1)).toBe('–');
    await by('Belly');
    const worst = ['major', 'moderate', 'minor', '–'];
    expect((await column('Belly')).map((words) => worst.findIndex((one) => words?.includes(one)))).toEqual([
      0, 1, 2, 3,
    ]);
    await by('Use');
    expect((await column('Instrument'))[0]).toContain('Grand of the hall');
    await by('Climate');
    const risks = ['beyond its limit', 'much strain', 'some strain', 'no strain', '–'];
    const order = (await column('Climate')).map((words) => risks.findIndex((one) => words?.includes(one)));
    expect(order).toEqual(order.toSorted((a, b) => a - b));
    expect(await page.locator('th[aria-sort="descending"]').textContent()).toContain('Climate');
    await close();
  });

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
