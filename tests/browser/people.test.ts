/**
 * People, messages, care words and the settings of the watch in a real browser. Pictures are left in .test-output/browser.
 */
import { randomUUID } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import type { DeliveryLog, Person, SettingsPage } from '../../server/contract/index.ts';
import { firstOrganisation } from '../../server/registry/organisations.ts';
import { openStores } from '../../server/services.ts';
import { logDelivery, putOutgoing } from '../../server/watch/notify/outgoing.ts';
import { technician } from '../support/people.ts';
import { eventually } from '../support/service.ts';
import { standing } from '../support/standing.ts';
import { barriers, chromiumIsHere, picture } from './chromium.ts';
import { dayMs } from './fleet.ts';
import { eachForEverybody } from './for-everybody.ts';
import { askAgain, browserStage, plainText } from './stage.ts';

describe.skipIf(!chromiumIsHere)('people and settings', { timeout: 120_000 }, () => {
  const personId = randomUUID();

  /** What a service whose mail server was away for days leaves behind. */
  async function messageThatIsStuck(folder: string): Promise<void> {
    const stores = await openStores(folder);
    const { db } = stores;
    const { organisationId } = await firstOrganisation(db, Date.now());
    const body = { subject: 'Studio 2: The soundboard is at 62 % of its dry limit', text: '', html: '' };
    const stuckId = await putOutgoing(
      db,
      {
        ...{ organisationId, channel: 'email', kind: 'digest', personId, address: 'ilva@workshop.example' },
        because: 'something began since the last one',
        body: JSON.stringify({ ...body, fromName: null, replyTo: null, unsubscribe: null }),
      },
      Date.now() - 5 * dayMs,
    );
    await db
      .updateTable('outgoing')
      .set({ state: 'stuck', attempts: 14, last_error: 'the mail server does not answer' })
      .where('id', '=', stuckId)
      .execute();
    await logDelivery(
      db,
      { organisationId, personId },
      'quiet',
      'quiet because nothing is new',
      Date.now() - dayMs,
    );
    await stores.stop();
  }

  const stage = standing(async (undo) => {
    const stage = await browserStage(undo, messageThatIsStuck);
    const house = await stage.client.house();
    await stage.client.put(`/api/people/${personId}`, technician);
    return { ...stage, house };
  });

  eachForEverybody(
    {
      people: () => '/people',
      person: () => `/people/${personId}`,
      messages: () => '/people/messages',
      'care-words': () => '/people/words',
      'watch-settings': () => `/settings/watch/instrument/${stage.house.instrumentId}`,
      'watch-quality': () => '/settings/watch-quality',
    },
    (path, device) => stage.open(path, device),
  );

  test('a venue manager is entered; what is amiss is said at its field, and nothing typed is lost', async () => {
    const { page, close } = await stage.open('/people/new');
    await page.getByLabel('Name').fill('Perpetua Langenfurth');
    await page.getByLabel('E-mail').fill('office at fernmoor');
    await page.getByRole('radio', { name: 'Venue manager' }).check();
    await page.getByRole('button', { name: 'Save the person' }).click();
    await expect.poll(() => plainText(page, '.field .fault')).toContain('Must be an e-mail address');
    await page.getByLabel('E-mail').fill('office@fernmoor.example');
    await page.getByRole('button', { name: 'Save the person' }).click();
    await expect.poll(() => plainText(page, '.choices .fault')).toContain('at least one venue');
    expect(await page.evaluate(() => (document.activeElement as HTMLInputElement).name)).toBe('venueIds');
    await page.keyboard.press('Space');
    await page.getByLabel('What can wait comes at').selectOption('09:00');
    await page.getByRole('button', { name: 'Save the person' }).click();
    await page.waitForURL('**/people');
    await expect
      .poll(() => plainText(page, '.people li:last-child'))
      .toContain(
        'Hears of Larkmoor School of Music at 09:00, at once only what cannot wait, nothing between 21:00 and 06:00',
      );
    await close();
  });

  test('the address of a calendar is shown once; a new one makes it void', async () => {
    const { page, close } = await stage.open(`/people/${personId}`);
    expect(await plainText(page, '.calendar')).toContain('There is no address yet');
    await page.getByRole('button', { name: 'Make the address' }).click();
    const first = (await page.locator('.once pre').textContent()) ?? '';
    expect((await fetch(first)).headers.get('content-type')).toContain('text/calendar');
    await page.reload();
    await page.locator('#calendar').waitFor();
    expect(await page.locator('.once').count()).toBe(0);
    expect(await page.content()).not.toContain(first.split('.').at(-2) ?? first);
    await page.getByRole('button', { name: 'Make a new address' }).click();
    const second = (await page.locator('.once pre').textContent()) ?? '';
    expect(second).not.toBe(first);
    expect((await fetch(first)).status).toBe(404);
    expect((await fetch(second)).status).toBe(200);
    await close();
  });

  test('what did not arrive is said with its reason and tried again; what was kept quiet says why', async () => {
    const { page, close } = await stage.open('/people');
    await expect.poll(() => plainText(page, '.lead')).toContain('One message did not arrive');
    await page.getByRole('link', { name: 'What was sent, and why' }).click();
    await page.waitForURL('**/people/messages');
    await expect
      .poll(() => plainText(page, '.amiss'))
      .toContain('is stuck, after 14 attempts: the mail server does not answer');
    expect(await plainText(page, '.log')).toContain('Quiet because nothing is new');
    await page.getByRole('button', { name: /^Try again\W+Studio 2/ }).click();
    await expect.poll(() => plainText(page, '.log')).toContain('Tried again because somebody asked for it');
    // There is no mail server here either: it waits, and says for what, once it was taken up.
    const noWay = 'no way out is set up for email';
    await eventually('it is taken up', async () =>
      (await stage.client.get<DeliveryLog>('/api/messages')).messages.some(({ lastError }) =>
        lastError?.includes(noWay),
      ),
    );
    await askAgain(page);
    await expect.poll(() => plainText(page, '.amiss')).toContain(noWay);
    await close();
  });

  test('care words: what a client would read follows each key; a wrong brace is said at its field; the usual ones come back', async () => {
    const { page, close } = await stage.open('/people/words');
    await page.getByRole('radio', { name: 'tuning' }).check();
    const words = page.getByLabel('Words', { exact: true });
    await words.fill('Dear {client}, about {instrumnet}');
    await expect.poll(() => plainText(page, '.letter')).toContain('Dear Ms Ondrelle, about {instrumnet}');
    await page.getByRole('button', { name: 'Save the words' }).click();
    await expect.poll(() => plainText(page, '.fault')).toContain('Has {instrumnet}; known are {client}');
    await words.fill('Dear {client}, {what}');
    // As long as the page asks anew all that it shows, here the service's health, a press would be lost: none can be made.
    let letAnswer = () => {};
    const held = new Promise<void>((resolve) => {
      letAnswer = resolve;
    });
    await page.route('**/health', async (route) => {
      await held;
      await route.continue();
    });
    await page.getByRole('button', { name: 'Save the words' }).click();
    await expect.poll(() => page.getByText('Saved.').count()).toBe(1);
    const goBack = page.getByRole('button', { name: 'Go back to the usual words' });
    expect(await goBack.isEnabled()).toBe(false);
    letAnswer();
    await goBack.click();
    await expect.poll(() => words.inputValue()).toContain('{dates}');
    await page.reload();
    await page.getByRole('radio', { name: 'tuning' }).check();
    expect(await page.getByRole('button', { name: 'Go back to the usual words' }).count()).toBe(0);
    await close();
  });

  test('another program is told under a secret shown once, and taken away after a second press', async () => {
    const { page, close } = await stage.open('/people');
    await page.getByLabel('Address').fill('notaddress');
    await page.getByRole('button', { name: 'Add it' }).click();
    await expect.poll(() => plainText(page, '.webhooks .fault')).toContain('Must begin with https://');
    await page.getByLabel('Address').fill('https://hooks.example/in');
    await page.getByRole('button', { name: 'Add it' }).click();
    await expect.poll(() => plainText(page, '.once pre')).toMatch(/^[0-9a-f]{64}$/);
    await page.reload();
    await expect.poll(() => plainText(page, '.webhooks .address')).toBe('https://hooks.example/in');
    expect(await page.locator('.once').count()).toBe(0);
    await page.getByRole('button', { name: /^Take it away/ }).click();
    expect(await stage.client.get<unknown[]>('/api/webhooks')).toHaveLength(1);
    await page.getByRole('button', { name: 'Take it away, yes' }).click();
    await expect.poll(() => stage.client.get<unknown[]>('/api/webhooks')).toEqual([]);
    await close();
  });

  test('settings: where a value comes from, a contradiction at its field, and taking back', async () => {
    await stage.client.put(`/api/settings/venue/${stage.house.venueId}`, { values: { 'board begins': 0.6 } });
    const { page, close } = await stage.open(`/settings/instruments/${stage.house.instrumentId}`);
    await page.getByRole('link', { name: 'What the watch goes by here' }).click();
    const row = (name: string) => page.locator('.one-setting', { has: page.locator(`[name="${name}"]`) });
    await expect
      .poll(() => row('board begins').textContent())
      .toContain('from the venue: Larkmoor School of Music');
    expect(await page.locator('[name="board begins"]').inputValue()).toBe('0.6');
    expect(await row('swing day').textContent()).toContain('usual');
    expect(await page.locator('[name="swing day"]').inputValue()).toBe('10');

    await page.locator('[name="swing day"]').fill('900');
    await page.getByRole('button', { name: 'Save what was changed' }).click();
    await expect
      .poll(() => row('swing day').locator('.fault').textContent())
      .toContain('Must be 3 to 50 %RH');
    await page.locator('[name="swing day"]').fill('10');
    await page.locator('[name="board ends"]').fill('0.7');
    await page.getByRole('button', { name: 'Save what was changed' }).click();
    await expect
      .poll(() => row('board ends').locator('.fault').textContent())
      .toContain('Must be below 0.6 (board begins)');
    expect(await page.evaluate(() => (document.activeElement as HTMLInputElement).name)).toBe('board ends');
    await page.locator('[name="board ends"]').fill('0.55');
    await page.getByRole('checkbox', { name: 'Watch for swings of the air' }).uncheck();
    await page.getByRole('button', { name: 'Save what was changed' }).click();
    await expect.poll(() => plainText(page, '.submit [role="status"]')).toBe('Two values are set here now.');
    const kept = async (name: string) =>
      (
        await stage.client.get<SettingsPage>(`/api/settings/instrument/${stage.house.instrumentId}`)
      ).settings.find((one) => one.name === name);
    expect(await kept('board ends')).toMatchObject({ value: 0.55, from: 'set here' });
    expect(await kept('watch swing')).toMatchObject({ value: 0, from: 'set here' });
    await row('board ends')
      .getByRole('button', { name: /^take it back/ })
      .click();
    await expect.poll(() => row('board ends').textContent()).toContain('usual');
    expect(await kept('board ends')).toMatchObject({ value: 0.45, from: 'usual' });
    await close();
  });

  test('humidity control fitted in an instrument is entered where the instrument is; what cannot be is said', async () => {
    const { page, close } = await stage.open(`/settings/instruments/${stage.house.instrumentId}`);
    await expect.poll(() => plainText(page, '[aria-labelledby="controls"]')).toContain('None is on record');
    await page.getByRole('button', { name: 'One is fitted' }).click();
    const form = page.locator('[aria-labelledby="controls"] form');
    await form.getByRole('radio', { name: 'adds moisture' }).check();
    await form.getByLabel('Set to').fill('42');
    await form.getByLabel('Since').fill('2026-02-03T10:00');
    await form.getByLabel('Until').fill('2026-01-01T10:00');
    await form.getByRole('button', { name: 'Save it' }).click();
    await expect
      .poll(() => form.locator('.fault').textContent())
      .toContain('Must be later than it was fitted');
    await form.getByLabel('Until').fill('');
    expect(await barriers(page)).toEqual([]);
    await picture(page, 'settings-humidity-control');
    await form.getByRole('button', { name: 'Save it' }).click();
    await expect
      .poll(() => plainText(page, '[aria-labelledby="controls"] li'))
      .toContain('It adds moisture, set to 42 %, since 3 February');
    await close();
  });

  test('whoever asked for no more messages is said to have, and saving says that it starts them again', async () => {
    const stores = await openStores(stage.folder);
    const at = { unsubscribed_ms: Date.now() - dayMs };
    await stores.db.updateTable('person').set(at).where('id', '=', personId).execute();
    await stores.stop();
    const { page, close } = await stage.open('/people');
    await expect
      .poll(() => plainText(page, '.people li:first-child'))
      .toContain('Wanted no more messages on');
    await page.getByRole('link', { name: 'Ilva Marrendow' }).click();
    await expect.poll(() => plainText(page, '.lead')).toContain('Saving starts them again: ask first');
    await page.getByRole('button', { name: 'Save the person' }).click();
    await page.waitForURL('**/people');
    await expect.poll(() => plainText(page, '.people li:first-child')).toContain('Hears of everything');
    const people = await stage.client.get<Person[]>('/api/people');
    expect(people.map((one) => one.unsubscribedMs)).toEqual(people.map(() => null));
    await close();
  });
});
