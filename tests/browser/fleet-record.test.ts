/** Condition of the fleet, inspections side by side, inventory and what is reported: in a real browser, nobody shut out. */
import { randomUUID } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import type { Remark } from '../../server/contract/index.ts';
import { instrumentBody } from '../support/api.ts';
import { standing } from '../support/standing.ts';
import { finding, inspection } from '../visits/sheet.ts';
import { chromiumIsHere } from './chromium.ts';
import { eachForEverybody } from './for-everybody.ts';
import { browserStage } from './stage.ts';

describe.skipIf(!chromiumIsHere)('the fleet and its records', { timeout: 120_000 }, () => {
  const stage = standing(async (undo) => {
    const stage = await browserStage(undo);
    const { instrumentId } = await stage.client.house();
    for (const [days, conditionClass] of [
      [800, 1],
      [60, 3],
    ] as const) {
      const { id, ...body } = inspection(instrumentId, Date.now() - days * 86_400_000, [
        finding({ itemId: 'ribs.separated', conditionClass, words: 'treble end' }),
      ]);
      await stage.client.put(`/api/visits/${id}`, body);
    }
    return { ...stage, instrumentId };
  });

  const says = {
    fleet: /1 major finding|one instrument has|One instrument has/,
    inspections: /1 of \d+ items changed/,
    inventory: /What goes in and out/,
  };
  eachForEverybody(
    {
      fleet: () => '/fleet',
      inspections: () => `/instruments/${stage.instrumentId}/inspections`,
      inventory: () => '/inventory',
    },
    async (path, device, name) => {
      const visitor = await stage.open(path, device);
      await visitor.page.getByText(says[name]).first().waitFor();
      return visitor;
    },
  );

  test('the fleet in the order of a column: class, age, use, risk; what is not known comes last', async () => {
    const { roomId } = await stage.client.house({ name: 'Grand never inspected', year: null, use: 'home' });
    const others = [
      { name: 'Upright of the cellar', year: 1905, use: 'practice' as const, conditionClass: 1 as const },
      { name: 'Grand of the hall', year: 2019, use: 'concert' as const, conditionClass: 2 as const },
    ];
    for (const { name, year, use, conditionClass } of others) {
      const one = randomUUID();
      await stage.client.put(`/api/instruments/${one}`, { ...instrumentBody, name, year, use, roomId });
      const { id, ...body } = inspection(one, Date.now() - 86_400_000, [
        finding({ itemId: 'ribs.separated', conditionClass }),
      ]);
      await stage.client.put(`/api/visits/${id}`, body);
    }
    const { page, close } = await stage.open('/fleet');
    await page.locator('.fleet tbody tr').nth(3).waitFor();
    const column = (title: string) =>
      page.locator('.fleet').evaluate((table, wanted) => {
        const heads = [...table.querySelectorAll('thead th')].map((th) => th.textContent ?? '');
        const at = heads.findIndex((words) => words.startsWith(wanted));
        return [...table.querySelectorAll('tbody tr')].map((row) => row.children[at]?.textContent?.trim());
      }, title);
    const by = async (title: string) => {
      await page.locator('.fleet thead').getByRole('button', { name: title }).click();
      await page.locator('.fleet th[aria-sort="descending"]', { hasText: title }).waitFor();
    };
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
    const { page, close } = await stage.open(`/instruments/${stage.instrumentId}`, 'phone');
    await page.getByLabel('What was reported').fill('buzz on C5');
    await page.keyboard.press('Enter');
    await page.getByText(/^Kept\. No tuning is recorded yet/).waitFor();
    await page.getByText('Opens on the next visit sheet.').waitFor();
    const [kept] = await stage.client.get<Remark[]>(`/api/remarks?instrument=${stage.instrumentId}`);
    expect(kept?.words).toBe('buzz on C5');
    await close();
  });

  test('an inventory is seen row by row before it is kept', async () => {
    const { page, close } = await stage.open('/inventory');
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
