/**
 * E-mails as people see them: written by the real watch, carried by a real mail server, parsed back, and opened in a real
 * browser at a phone's width and a reader's, in light and dark. Pictures are left in .test-output/browser.
 */
import { randomUUID } from 'node:crypto';
import type { Browser, Page } from 'playwright-core';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import type { PersonBody } from '../../server/contract/index.ts';
import { people, putPerson } from '../../server/registry/people.ts';
import { acknowledge } from '../../server/watch/notice-acts.ts';
import { takeCareReply } from '../../server/watch/notify/care-reply.ts';
import { technician } from '../support/people.ts';
import { standing } from '../support/standing.ts';
import { openToldStage } from '../support/told-stage.ts';
import { dayMs, hourMs, ramp, steady } from '../support/watch-stage.ts';
import { barriers, chromiumIsHere, launch, picture, sidewaysPx } from './chromium.ts';

const startMs = Date.parse('2026-01-12T09:00:00Z');
const widths = [360, 640] as const;
const schemes = ['light', 'dark'] as const;

interface Letter {
  readonly subject: string;
  readonly text: string;
  readonly html: string;
}
type Kind = 'at once' | 'digest' | 'reminder' | 'venue' | 'care note' | 'care answer';

/** Frost dries out a school whose name has no place to break, and a home; a month of what is written then. */
async function letters(undo: (step: () => unknown) => void): Promise<Record<Kind, Letter>> {
  const stage = await openToldStage(startMs);
  undo(() => stage.stop());
  const { db } = stage.stores;
  const school = await stage.venue('Larkmoor-Fennimore-und-Quillhaven-Konservatorium');
  const from = startMs + 6 * hourMs;
  await stage.piano(school, 'Großer Saal', ramp(46, 20, from, from + 12 * hourMs));
  await stage.piano(school, 'Studio 4', steady(46));
  const home = await stage.venue('Brannoway household');
  const upright = await stage.piano(home, 'Music room', ramp(46, 24, from, from + 12 * hourMs), {
    use: 'home',
  });
  await stage.past(80);
  const add = async (changes: Partial<PersonBody>) => {
    const id = randomUUID();
    await putPerson(db, stage.viewer, id, { ...technician, ...changes }, stage.nowMs);
    return id;
  };
  await add({});
  await add({ role: 'venue manager', email: 'house@larkmoor.example', name: 'House', venueIds: [school] });
  const client = await add({
    ...{ role: 'client', email: 'home@brannoway.example', name: 'E. Brannoway', instrumentIds: [upright.id] },
  });
  await stage.pass(6 * dayMs, 3 * hourMs);
  const dry = (await stage.openNotices()).find(({ rule, partOf }) => rule === 'board-dry' && partOf === null);
  if (!dry) throw new Error('no board has dried out');
  const by = { by: 'Ilva', note: 'humidifier ordered' };
  await acknowledge(db, stage.viewer, dry.id, by, stage.nowMs);
  await stage.pass(24 * dayMs, 12 * hourMs);
  const person = (await people(db, stage.viewer)).find(({ id }) => id === client);
  if (!person) throw new Error('the client is gone');
  const place = 'Music room · Grand 185 cm';
  const reply = { instrumentId: upright.id, place, answer: 'date', dateMs: stage.nowMs + 9 * dayMs } as const;
  await takeCareReply(db, stage.viewer, person, reply, stage.nowMs);
  await stage.pass(hourMs);

  const one = (address: string, is: (letter: Letter) => boolean): Letter => {
    const all = stage.mailsTo(address).map((mail): Letter => {
      const { subject = '', text = '', html = '' } = mail;
      return { subject, text, html: html || '' };
    });
    const found = all.find(is);
    if (!found) throw new Error(`none such among: ${all.map(({ subject }) => subject).join('; ')}`);
    return found;
  };
  const ilva = 'ilva@workshop.example';
  return {
    'at once': one(ilva, ({ subject }) => subject.startsWith('Now: ')),
    digest: one(ilva, ({ text }) => text.startsWith('NEW') && text.includes('since the last one')),
    reminder: one(ilva, ({ text }) => text.includes('ACKNOWLEDGED, NOT SOLVED')),
    venue: one('house@larkmoor.example', () => true),
    'care note': one('home@brannoway.example', ({ text }) => text.startsWith('Dear E. Brannoway')),
    'care answer': one(ilva, ({ subject }) => subject.includes('chose')),
  };
}

const address = /https?:\/\/\S+/g;
/** Words alone: how lines are broken and set is each form's own. */
const wordsOf = (text: string): string[] =>
  text
    .toLowerCase()
    .split(/[^\p{L}\p{N}%°]+/u)
    .filter(Boolean);

describe.skipIf(!chromiumIsHere)('an e-mail', { timeout: 180_000 }, () => {
  const stage = standing(async (undo) => {
    const browser = await launch();
    undo(() => browser.close());
    return { browser, letters: await letters(undo) };
  }, 300_000);

  async function opened(
    { browser }: { readonly browser: Browser },
    { html }: Letter,
    width: number,
    colorScheme: (typeof schemes)[number],
  ): Promise<{ page: Page; asked: string[]; close(): Promise<void> }> {
    const context = await browser.newContext({ viewport: { width, height: 800 }, colorScheme });
    const page = await context.newPage();
    const asked: string[] = [];
    await page.route('**/*', (route) => {
      asked.push(route.request().url());
      return route.abort();
    });
    await page.setContent(html);
    return { page, asked, close: () => context.close() };
  }

  const kinds: readonly Kind[] = ['at once', 'digest', 'reminder', 'venue', 'care note', 'care answer'];
  const cases = kinds.flatMap((kind) =>
    widths.flatMap((width) => schemes.map((scheme) => [kind, width, scheme] as const)),
  );

  test.each(cases)(
    '%s at %i px in %s: no sideways scroll, no barrier, nothing fetched',
    async (kind, width, scheme) => {
      const { page, asked, close } = await opened(stage, stage.letters[kind], width, scheme);
      const name = `mail-${kind.replaceAll(' ', '-')}-${width}${scheme === 'dark' ? '-dark' : ''}`;
      expect(await sidewaysPx(page)).toBe(0);
      await picture(page, name);
      // The reader's own paper is what shows through: dark where the reader is.
      const corner = await sharp(
        await page.screenshot({ clip: { x: 0, y: 0, width: 4, height: 4 } }),
      ).stats();
      const light = Math.max(...corner.channels.slice(0, 3).map(({ mean }) => mean));
      if (scheme === 'light') expect(light).toBeGreaterThan(240);
      else expect(light).toBeLessThan(60);
      // Contrast is reckoned against a paper that is named: the one that is painted.
      await page.addStyleTag({ content: ':root { background: Canvas; color: CanvasText }' });
      expect(await barriers(page)).toEqual([]);
      expect(asked).toEqual([]);
      await close();
    },
  );

  test.each(kinds)('%s says the same without its HTML, and without images', async (kind) => {
    const letter = stage.letters[kind];
    const { page, close } = await opened(stage, letter, 640, 'light');
    expect(await page.locator('img, svg, video, object, iframe, script, link, [background]').count()).toBe(0);
    expect(letter.html).not.toMatch(/url\(/);
    const seen = new Set(wordsOf((await page.locator('body').allInnerTexts()).join(' ')));
    const [words, addresses] = [letter.text.replaceAll(address, ''), letter.text.match(address) ?? []];
    expect(wordsOf(words).filter((word) => !seen.has(word))).toEqual([]);
    const links = await page.locator('a').evaluateAll((all) => all.map((one) => one.getAttribute('href')));
    expect(links).toEqual(addresses);
    expect(await page.title()).toBe(letter.subject);
    await close();
  });

  test('what has passed is told as it was when it began, not as quiet as it ended', () => {
    const [, passed = ''] = stage.letters.reminder.text.split('PASSED');
    const swings = [...passed.matchAll(/went from (\d+) % to (\d+) %/g)];
    expect(swings.length).toBeGreaterThan(0);
    for (const [, low, high] of swings) expect(Number(high) - Number(low)).toBeGreaterThan(10);
    expect(passed).toContain('That is over.');
  });

  test('the look for barriers bites in an e-mail too', async () => {
    const { page, close } = await opened(stage, stage.letters.digest, 360, 'dark');
    await page.addStyleTag({ content: ':root { background: Canvas; color: CanvasText } h2 { color: #333 }' });
    expect((await barriers(page)).join()).toContain('color-contrast');
    await page.addStyleTag({ content: 'p { white-space: nowrap }' });
    expect(await sidewaysPx(page)).toBeGreaterThan(0);
    await close();
  });
});
