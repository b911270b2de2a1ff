/** A service in a folder of its own and a browser before it. */
import type { Browser, Page } from 'playwright-core';
import { api } from '../support/api.ts';
import { plain } from '../support/plain.ts';
import {
  addGateway,
  type GatewaySecrets,
  type RunningService,
  startService,
  temporaryFolder,
} from '../support/service.ts';
import type { Undo } from '../support/standing.ts';
import { type Device, launch, type Visitor, visit } from './chromium.ts';

export interface Stage {
  /** The service's data folder. */
  readonly folder: string;
  readonly service: RunningService;
  readonly browser: Browser;
  readonly client: ReturnType<typeof api>;
  /** Opens a page of the service on a device of its own, and waits until it has a heading and its type. */
  open(path: string, device?: Device): Promise<Visitor>;
}

/** @param prepare what is done to the data folder before the service opens it */
export async function browserStage(
  undo: Undo,
  prepare: (folder: string) => unknown = () => undefined,
): Promise<Stage> {
  const folder = temporaryFolder();
  undo(folder.remove);
  await prepare(folder.path);
  const service = await startService(folder.path);
  undo(() => service.kill('SIGTERM'));
  const browser = await launch();
  undo(() => browser.close());
  return {
    folder: folder.path,
    service,
    browser,
    client: api(service.url),
    async open(path, device = 'laptop') {
      const visitor = await visit(browser, device);
      await visitor.page.goto(service.url + path);
      await visitor.page.locator('h1').waitFor();
      await visitor.page.evaluate(() => document.fonts.ready);
      return visitor;
    },
  };
}

/** The same with a gateway that may send. */
export async function gatewayStage(undo: Undo): Promise<Stage & { readonly gateway: GatewaySecrets }> {
  let gateway: GatewaySecrets = { user: '', password: '', token: '' };
  const stage = await browserStage(undo, (folder) => {
    gateway = addGateway(folder, 'attic');
  });
  return { ...stage, gateway };
}

/** What stands in the first place of that kind, its no-break spaces as plain ones. */
export async function plainText(page: Page, selector: string): Promise<string> {
  return plain(await page.locator(selector).first().textContent());
}
