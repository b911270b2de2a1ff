/** A service in a folder of its own and a browser before it. */
import type { Browser, Page } from 'playwright-core';
import { plain } from '../support/plain.ts';
import { type Prepare, type ServiceStage, serviceStage, withGateway } from '../support/service-stage.ts';
import type { Undo } from '../support/standing.ts';
import { type Device, launch, type Visitor, visit } from './chromium.ts';

export interface Stage extends ServiceStage {
  readonly browser: Browser;
  /**
   * Opens a page of the service on a device of its own, and waits until it has a heading and its type.
   *
   * @param before what is done to the page while it is still empty
   */
  open(path: string, device?: Device, before?: (page: Page) => unknown): Promise<Visitor>;
}

export async function browserStage(undo: Undo, prepare?: Prepare): Promise<Stage> {
  const stage = await serviceStage(undo, prepare);
  const browser = await launch();
  undo(() => browser.close());
  return {
    ...stage,
    browser,
    async open(path, device = 'laptop', before = () => undefined) {
      const visitor = await visit(browser, device);
      await before(visitor.page);
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

/** Has the page ask at once what it asks by itself every so often, as it does when a signal comes back. */
export const askAgain = (page: Page): Promise<void> =>
  page.evaluate(() => {
    window.dispatchEvent(new Event('online'));
  });

/** What the service answered the page last under an address. */
export type Answered = <Body>(path: string) => Promise<Body>;

/** Listens to what the page is answered: it shows that, while the service, asked anew, may have learned more already. */
export function answersTo(page: Page): Answered {
  const answers = new Map<string, Promise<unknown>>();
  page.on('response', (response) => {
    const { pathname, search } = new URL(response.url());
    if (!pathname.startsWith('/api/') || !response.ok()) return;
    const body = response.json();
    // Nobody may ask for it, and a page that is left takes it away.
    body.catch(() => undefined);
    answers.set(pathname + search, body);
  });
  return async <Body>(path: string) => {
    const body = answers.get(path);
    if (!body) throw new Error(`the page was not answered anything under ${path}`);
    return (await body) as Body;
  };
}
