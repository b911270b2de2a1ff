/**
 * A newer version of the page while a visit is being written: it waits until it is told, on every page of the browser,
 * and what is being written stays. The page is really built three times, and the service serves one over the other.
 */
import { cpSync, existsSync, mkdirSync, renameSync, rmSync, symlinkSync } from 'node:fs';
import path from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { build } from 'vite';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import type { Visit } from '../../server/contract/index.ts';
import { groupsFor } from '../../server/contract/index.ts';
import { api } from '../support/api.ts';
import { eventually, type RunningService, startService, temporaryFolder } from '../support/service.ts';
import { chromiumIsHere, launch, picture, visit } from './chromium.ts';
import { closeIt } from './sheet-stage.ts';

const root = path.resolve(import.meta.dirname, '../..');

describe.skipIf(!chromiumIsHere)('an update', { timeout: 180_000 }, () => {
  const folder = temporaryFolder();
  const built = path.join(folder.path, '.build');
  let service: RunningService;
  let browser: Browser;

  /** As the build does it, with another word in the page and in its program. */
  async function buildPage(word: string): Promise<void> {
    const [made, served, before] = ['made', '.build/web', 'before'].map((name) =>
      path.join(folder.path, name),
    ) as [string, string, string];
    // A build within a test is else one for development, which has no worker.
    vi.stubEnv('NODE_ENV', 'production');
    await build({
      root: path.join(root, 'web'),
      configFile: path.join(root, 'web/vite.config.ts'),
      logLevel: 'warn',
      build: { outDir: made },
      plugins: [
        {
          name: 'another-version',
          transform: (code, id) =>
            id.endsWith('/web/main.tsx')
              ? `${code}\ndocument.documentElement.dataset.ran = '${word}';`
              : null,
          transformIndexHtml: (html) => html.replace('<html ', `<html data-built="${word}" `),
        },
      ],
    });
    vi.unstubAllEnvs();
    // Put in place at once: the browser may look for a newer version at any time, and would find half of it.
    if (existsSync(served)) renameSync(served, before);
    renameSync(made, served);
    rmSync(before, { recursive: true, force: true });
  }

  beforeAll(async () => {
    for (const part of ['server', 'ingest']) {
      cpSync(path.join(root, '.build', part), path.join(built, part), { recursive: true });
    }
    for (const shared of ['node_modules', 'package.json']) {
      symlinkSync(path.join(root, shared), path.join(folder.path, shared));
    }
    await buildPage('first');
    mkdirSync(path.join(folder.path, 'data'));
    service = await startService(path.join(folder.path, 'data'), {}, path.join(built, 'server/main.js'));
    browser = await launch();
  }, 180_000);
  afterAll(async () => {
    await browser?.close();
    await service?.kill('SIGTERM');
    folder.remove();
  });

  const version = (page: Page) =>
    page.evaluate(() => {
      const { built: page, ran } = document.documentElement.dataset;
      return { page, ran };
    });
  const first = { page: 'first', ran: 'first' };
  /** As the page itself asks when it is looked at again. */
  const lookForNewer = (page: Page) =>
    page.evaluate(async () => {
      const registration = await navigator.serviceWorker.ready;
      await registration.update();
    });
  const newerWaits = (page: Page) =>
    page.evaluate(async () => (await navigator.serviceWorker.ready).waiting?.state === 'installed');

  test('waits while a visit is written, on whatever page one asks for it; then takes over when told', async () => {
    const client = api(service.url);
    const { instrumentId } = await client.house();
    const { page, context, close } = await visit(browser, 'phone');
    await page.goto(service.url);
    await eventually('the first worker has the page', () =>
      page.evaluate(() => navigator.serviceWorker.controller !== null),
    );
    await page.goto(`${service.url}/instruments/${instrumentId}/sheet`);
    await page.getByRole('heading', { level: 1, name: /^Visit, / }).waitFor();
    const [site] = groupsFor('grand');
    await page.locator(`[id="group-${site?.id}"] .sound`).click();
    await page.getByLabel('Note', { exact: true }).last().fill('half written');
    await page
      .getByText(/on this device/)
      .first()
      .waitFor();

    await buildPage('second');
    await lookForNewer(page);
    await eventually('the second worker is there, and waits', () => newerWaits(page));
    // While it is written nothing asks for attention.
    expect(await page.getByText('A newer version is ready.').count()).toBe(0);
    expect(await version(page)).toEqual(first);

    // Another page of the same browser is told, but cannot take over either.
    const other = await context.newPage();
    await other.goto(`${service.url}/device`);
    expect(await version(other)).toEqual(first);
    await other.getByRole('button', { name: 'Use it' }).click();
    await other.getByText(/A visit is being written on another page/).waitFor();
    await picture(other, 'update-not-yet-phone');
    expect(await newerWaits(page)).toBe(true);

    // Coming back to the sheet, even without a signal, is coming back to the version it was begun with.
    await context.setOffline(true);
    await page.reload();
    await page.getByRole('heading', { level: 1, name: /^Visit, / }).waitFor();
    expect(await version(page)).toEqual(first);
    expect(await page.getByLabel('Note', { exact: true }).last().inputValue()).toBe('half written');
    await context.setOffline(false);

    // A third comes before the second ever ran.
    await buildPage('third');
    await lookForNewer(page);
    await eventually('the third worker waits in place of the second', () =>
      page.evaluate(async () => {
        const { installing, waiting } = await navigator.serviceWorker.ready;
        return installing === null && waiting?.state === 'installed' && (await caches.keys()).length === 3;
      }),
    );

    await closeIt(page);
    await page.getByText('A newer version is ready.').waitFor();
    expect(await version(page)).toEqual(first);
    await page.getByRole('button', { name: 'Use it' }).click();
    await eventually('the third version runs', async () => {
      const now = await version(page).catch(() => null);
      return now?.ran === 'third';
    });
    expect(await version(page)).toEqual({ page: 'third', ran: 'third' });
    expect(await newerWaits(page)).toBe(false);
    const kept = await client.get<Visit[]>(`/api/visits?instrument=${instrumentId}`);
    expect(kept.map(({ note }) => note)).toEqual(['half written']);
    // The page that still shows the first version finds its files: they were kept.
    expect(await version(other)).toEqual(first);
    const itsProgramIsKept = await other.evaluate(async () => {
      const program = document.querySelector<HTMLScriptElement>('script[type="module"]');
      return (await caches.match(program?.src ?? '')) !== undefined;
    });
    expect(itsProgramIsKept).toBe(true);
    await other.getByRole('link', { name: 'Condition of the fleet' }).click();
    await other.getByRole('heading', { level: 1 }).first().waitFor();
    await close();
  });
});
