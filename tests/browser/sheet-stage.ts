/** What hands do on a visit sheet, for the tests of it. */
import type { Locator, Page } from 'playwright-core';
import sharp from 'sharp';
import type { Visit } from '../../server/contract/index.ts';
import { groupsFor } from '../../server/contract/index.ts';
import { eventually } from '../support/service.ts';
import type { Undo } from '../support/standing.ts';
import { browserStage, type Stage } from './stage.ts';

export const groups = groupsFor('grand');
export const items = groups.flatMap((group) => group.items);

export interface SheetStage extends Stage {
  visitsOf(instrumentId: string): Promise<Visit[]>;
  /** @param which the sheet with its assemblies, or a tuning alone */
  openSheet(page: Page, instrumentId: string, which?: 'sheet' | 'visit'): Promise<void>;
  /** Until the worker stands ready and every brief is on the device: from then on there may be no signal. */
  readyForNoSignal(page: Page, instrumentId: string): Promise<void>;
}

export async function sheetStage(undo: Undo): Promise<SheetStage> {
  const stage = await browserStage(undo);
  const { client, service } = stage;
  return {
    ...stage,
    visitsOf: (instrumentId) => client.get<Visit[]>(`/api/visits?instrument=${instrumentId}`),
    async openSheet(page, instrumentId, which = 'sheet') {
      await page.goto(`${service.url}/instruments/${instrumentId}/${which}`);
      const name = which === 'sheet' ? /^Visit, / : /^Tuning, /;
      await page.getByRole('heading', { level: 1, name }).waitFor();
    },
    async readyForNoSignal(page, instrumentId) {
      await page.goto(service.url);
      await page.evaluate(async () => {
        await navigator.serviceWorker.ready;
      });
      await eventually('the brief is on the device', async () => {
        // Opening a shelf that is not there yet would make an empty one.
        if (!(await page.evaluate(async () => (await indexedDB.databases()).length))) return false;
        return page.evaluate(
          (id) =>
            new Promise<boolean>((resolve) => {
              const opening = indexedDB.open('crownwatch');
              opening.onsuccess = () => {
                const db = opening.result;
                if (!db.objectStoreNames.contains('briefs')) return resolve(false);
                const asked = db.transaction('briefs').objectStore('briefs').get(id);
                asked.onsuccess = () => {
                  db.close();
                  resolve(asked.result !== undefined);
                };
              };
              opening.onerror = () => resolve(false);
            }),
          instrumentId,
        );
      });
    },
  };
}

export const grade = (page: Page, itemId: string, words: string): Locator =>
  page.locator(`[id="item-${itemId}"]`).getByRole('radio', { name: words, exact: true });
export const sound = (page: Page, groupId: string): Locator => page.locator(`[id="group-${groupId}"] .sound`);
export const openGroup = (page: Page, groupId: string): Locator =>
  page.locator(`[id="group-${groupId}"] .opens`);

export const photo = (colour: string) =>
  sharp({ create: { width: 3000, height: 2000, channels: 3, background: colour } })
    .jpeg()
    .toBuffer();

/** Of some 400 kB: noise does not shrink. */
export const noise = () =>
  sharp({
    create: {
      width: 1600,
      height: 1200,
      channels: 3,
      background: '#808080',
      noise: { type: 'gaussian', mean: 128, sigma: 60 },
    },
  })
    .jpeg()
    .toBuffer();

/** Closes the visit and waits until it is sent. */
export async function closeIt(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'Look it over' }).click();
  await page.getByRole('button', { name: 'Close the visit' }).click();
  await page
    .getByText(/: sent/)
    .first()
    .waitFor();
}

/**
 * Until a tuning that was closed is sent: it leads back to its instrument, or, where the service takes more than five
 * seconds, to what is on its way.
 */
export async function tuningIsSent(page: Page): Promise<void> {
  await page
    .locator('.recorded')
    .or(page.getByText(/: sent/))
    .first()
    .waitFor();
}

/** Whether a draft on the device's own shelf holds these words. */
export function draftHolds(page: Page, words: string): Promise<boolean> {
  return page.evaluate(
    (wanted) =>
      new Promise<boolean>((resolve) => {
        const opening = indexedDB.open('crownwatch');
        opening.onsuccess = () => {
          const all = opening.result.transaction('drafts').objectStore('drafts').getAll();
          all.onsuccess = () => {
            opening.result.close();
            resolve(JSON.stringify(all.result).includes(wanted));
          };
        };
        opening.onerror = () => resolve(false);
      }),
    words,
  );
}

/**
 * Changes what waits on the device to be sent, behind the page's back.
 *
 * @param changes values by their dotted places in the one entry there is
 * @returns the id it is sent under
 */
export function changeOutbox(page: Page, changes: Readonly<Record<string, unknown>>): Promise<string> {
  return page.evaluate(
    (wanted) =>
      new Promise<string>((resolve) => {
        const opening = indexedDB.open('crownwatch');
        opening.onsuccess = () => {
          const trx = opening.result.transaction('outbox', 'readwrite');
          const all = trx.objectStore('outbox').getAll();
          all.onsuccess = () => {
            const [entry] = all.result;
            for (const [place, value] of Object.entries(wanted)) {
              const names = place.split('.');
              const last = names.pop() ?? '';
              names.reduce((part, name) => part[name], entry)[last] = value;
            }
            trx.objectStore('outbox').put(entry);
            trx.oncomplete = () => {
              opening.result.close();
              resolve(entry.id);
            };
          };
        };
      }),
    changes,
  );
}
