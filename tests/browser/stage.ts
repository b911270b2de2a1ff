/** A service in a folder of its own and a browser before it. */
import type { Browser, Page } from 'playwright-core';
import { plain } from '../support/plain.ts';
import { type Prepare, type ServiceStage, serviceStage, withGateway } from '../support/service-stage.ts';
import type { Undo } from '../support/standing.ts';
import { type Device, launch, type Visitor, visit } from './chromium.ts';

export interface Stage extends ServiceStage {
  readonly browser: Browser;
  /** Opens a page of the service on a device of its own, and waits until it has a heading and its type. */
  open(path: string, device?: Device): Promise<Visitor>;
}

export async function browserStage(undo: Undo, prepare?: Prepare): Promise<Stage> {
  const stage = await serviceStage(undo, prepare);
  const browser = await launch();
  undo(() => browser.close());
  return {
    ...stage,
    browser,
    async open(path, device = 'laptop') {
      const visitor = await visit(browser, device);
      await visitor.page.goto(stage.service.url + path);
      await visitor.page.locator('h1').waitFor();
      await visitor.page.evaluate(() => document.fonts.ready);
      return visitor;
    },
  };
}

/** The same with a gateway that may send. */
export const gatewayStage = (undo: Undo) => withGateway((prepare) => browserStage(undo, prepare));

/** What stands in the first place of that kind, its no-break spaces as plain ones. */
export async function plainText(page: Page, selector: string): Promise<string> {
  return plain(await page.locator(selector).first().textContent());
}
