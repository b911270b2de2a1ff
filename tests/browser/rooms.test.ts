/**
 * The venue's face and the client's in a real browser: rooms, one room, weather, events, and the two pages that open by
 * a link alone. Pictures are left in .test-output/browser.
 */
import { randomUUID } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import type {
  EventAhead,
  RoomDetail,
  RoomToday,
  VenueTask,
  VenueWeather,
} from '../../server/contract/index.ts';
import { personById } from '../../server/registry/people.ts';
import { openStores } from '../../server/services.ts';
import { signLink } from '../../server/watch/notify/links.ts';
import { roomBody } from '../support/api.ts';
import { calmly, technician } from '../support/people.ts';
import { plain } from '../support/plain.ts';
import { eventually } from '../support/service.ts';
import { standing } from '../support/standing.ts';
import { chromiumIsHere, picture } from './chromium.ts';
import { dayMs, fleetStage } from './fleet.ts';
import { eachForEverybody } from './for-everybody.ts';
import { openHeard } from './heard.ts';

// On a busy machine a page takes its time.
describe.skipIf(!chromiumIsHere)('rooms and events', { timeout: 180_000 }, () => {
  const fleet = standing(async (undo) => {
    const fleet = await fleetStage(undo);
    const { client } = fleet;
    const { roomId, venueId } = await client.instrument(fleet.flat);
    await client.put(`/api/rooms/${roomId}`, { ...roomBody, venueId, volumeM3: 160, humidifier: true });
    await client.put(`/api/rooms/${randomUUID()}`, {
      ...roomBody,
      venueId,
      name: 'Practice room with a name that is longer than the door it stands on',
      borrowsRoomId: roomId,
    });
    await client.put(`/api/events/${randomUUID()}`, {
      venueId,
      name: 'Winter recital',
      startMs: Date.now() + 12 * dayMs,
      instrumentIds: [fleet.flat, fleet.calm],
      required: 'concert',
    });
    const personId = randomUUID();
    await client.put(`/api/people/${personId}`, {
      ...{ ...technician, ...calmly, name: 'E. Brannoway', email: 'home@brannoway.example' },
      ...{ role: 'client', instrumentIds: [fleet.flat] },
    });
    const stores = await openStores(fleet.folder);
    const person = await personById(stores.db, personId);
    await stores.stop();
    if (!person) throw new Error('a person was put');
    const care = `/care/${signLink(person, 'care', fleet.flat)}`;
    const link = await client.ask('PUT', `/api/venues/${venueId}/task-link`, { want: 'new' });
    const tasks = (link.body as { path: string }).path;
    return { ...fleet, roomId, venueId, care, tasks };
  }, 180_000);

  eachForEverybody(
    {
      rooms: () => '/rooms',
      room: () => `/rooms/${fleet.roomId}`,
      weather: () => `/venues/${fleet.venueId}/weather`,
      'task-link': () => `/venues/${fleet.venueId}/tasks`,
      events: () => '/events',
      'event-form': () => '/events/new',
      'room-form': () => `/settings/rooms/${fleet.roomId}`,
      care: () => fleet.care,
      tasks: () => fleet.tasks,
    },
    (path, device) => fleet.open(path, device),
  );

  test('rooms open with a sentence; each room says first what to do, then its numbers', async () => {
    const { page, answered, close } = await openHeard(fleet, '/rooms');
    const rooms = await answered<RoomToday[]>('/api/rooms-today');
    expect(await page.locator('h1').textContent()).toMatch(/^(No|One|Two|Three)|dry|needs? nothing/);
    const cards = page.locator('.room-card');
    expect(await cards.count()).toBe(rooms.length);
    const mine = rooms.find((one) => one.id === fleet.roomId);
    const card = cards.filter({ has: page.locator(`a[href="/rooms/${fleet.roomId}"]`) });
    expect(plain(await card.locator('.room-today').textContent())).toBe(plain(mine?.today.sentence ?? ''));
    expect(plain(await card.locator('.room-numbers').textContent())).toMatch(
      /^\d+ % · 20\.5 °C · last 30 days \d+ % within 38 to 52 %$/,
    );
    expect(await card.locator('.year-strip').getAttribute('aria-label')).toMatch(/driest day .+ dampest/);
    const borrows = cards.filter({ hasText: 'borrowed from' });
    expect(await borrows.count()).toBe(1);
    expect(await cards.filter({ hasText: 'Nothing measures this air' }).count()).toBe(1);
    await page.emulateMedia({ media: 'print' });
    await picture(page, 'rooms-print');
    await close();
  });

  test('the calendar is gone through by keyboard, says each day, and stands as a table too', async () => {
    const { page, answered, close } = await openHeard(fleet, `/rooms/${fleet.roomId}`);
    const { strip } = await answered<RoomDetail>(`/api/rooms/${fleet.roomId}`);
    /** What the service says of a UTC day. */
    const dayOf = (timeMs: number) =>
      strip.humidityPct.at(Math.floor(timeMs / dayMs) - Math.floor((strip.endMs - 1) / dayMs) - 1) ?? null;
    const grid = page.getByRole('grid');
    await grid.focus();
    /** What is said of the day the grid stands on. */
    const said = async () => {
      const id = await grid.getAttribute('aria-activedescendant');
      return plain(await page.locator(`#${id}`).getAttribute('aria-label'));
    };
    await page.keyboard.press('ArrowLeft');
    // It begins on the last day of which anything is known: soon after midnight that is yesterday.
    const known = strip.humidityPct.filter((one) => one !== null).length;
    const sinceKnown = strip.humidityPct.toReversed().findIndex((one) => one !== null);
    const standsMs = strip.endMs - 1 - (sinceKnown + 1) * dayMs;
    const dayBefore = dayOf(standsMs);
    expect(dayBefore).toBeTypeOf('number');
    expect(await said()).toContain(`: ${Math.round(dayBefore ?? 0)} %, `);
    expect(plain(await page.locator('.heat-readout').textContent())).toBe(await said());
    await page.keyboard.press('Home');
    await page.keyboard.press('ArrowUp');
    // The first of the month before; on some days of the year it lies where nothing was measured.
    const stands = new Date(standsMs);
    const first = dayOf(Date.UTC(stands.getUTCFullYear(), stands.getUTCMonth() - 1, 1));
    expect(await said()).toMatch(/^\w+ 1 \w+: /);
    expect(await said()).toContain(first === null ? ': not measured' : `: ${Math.round(first)} %, `);
    expect(await grid.locator('.stands').count()).toBe(1);
    await page.getByText('month by month, in figures').click();
    const days = await page.locator('details table tbody tr td:last-child').allTextContents();
    const counted = days.reduce((sum, one) => sum + Number(one.split(' of ')[1]), 0);
    expect(counted).toBe(known);
    await close();
  });

  test('frost is typed, foretold and told with the pianos it would dry', async () => {
    const { page, close } = await fleet.open(`/venues/${fleet.venueId}/weather`, 'phone');
    const fill = async (row: number, values: readonly string[]) => {
      for (const [i, key] of ['lowC', 'highC', 'dewPointC'].entries()) {
        await page.locator(`input[name="days.${row}.${key}"]`).fill(values[i] ?? '');
      }
    };
    await fill(0, ['4', '9', '5']);
    await fill(1, ['−14', '−6', 'cold']);
    await page.getByRole('button', { name: 'Save the weather' }).click();
    await expect.poll(() => page.locator('.fault').textContent()).toContain('“cold” is not a number');
    await fill(1, ['−14', '−6', '-2']);
    await page.getByRole('button', { name: 'Save the weather' }).click();
    await expect.poll(() => page.locator('.fault').textContent()).toMatch(/must not be above/i);
    await fill(1, ['−14', '−6', '-16']);
    await page.getByRole('button', { name: 'Save the weather' }).click();
    await expect.poll(() => page.locator('h1').textContent()).toMatch(/^Frost from .+, down to −14/);
    expect(await page.getByRole('table').first().textContent()).toContain('Grand 185 cm');
    const told = await fleet.client.get<VenueWeather>(`/api/venues/${fleet.venueId}/weather`);
    expect(told.days.map((one) => one.dewPointC)).toEqual([5, -16]);
    await page.goto(`${fleet.service.url}/rooms`);
    await expect.poll(() => page.locator('.frost').count()).toBe(1);
    await picture(page, 'rooms-frost-phone');
    await close();
  });

  test('an event is entered by the venue’s clock, with its pianos and what they must be, and answers with odds', async () => {
    const { page, close } = await fleet.open('/events/new', 'phone');
    await page.getByRole('textbox', { name: 'Name', exact: true }).fill('Advent music');
    await page.getByLabel('Venue').selectOption(fleet.venueId);
    await page.getByRole('button', { name: 'Save the event' }).click();
    await expect.poll(() => page.locator('.fault').count()).toBe(2);
    const day = new Date(Date.now() + 9 * dayMs).toISOString().slice(0, 10);
    await page.getByLabel('Begins').fill(`${day}T19:30`);
    await page.getByLabel(/Grand 185 cm/).check();
    await page.getByRole('button', { name: 'Save the event' }).click();
    await page.getByRole('link', { name: 'Advent music' }).waitFor();
    const ahead = async () => {
      const events = await fleet.client.get<EventAhead[]>('/api/events-ahead');
      return events.find((one) => one.name === 'Advent music');
    };
    const mine = await ahead();
    const said = new Intl.DateTimeFormat('en-GB', {
      timeZone: 'Europe/Vienna',
      dateStyle: 'short',
      timeStyle: 'short',
    }).format(mine?.startMs ?? 0);
    expect(said).toBe(`${day.slice(8)}/${day.slice(5, 7)}/${day.slice(0, 4)}, 19:30`);
    expect(mine?.instrumentIds).toEqual([fleet.flat]);
    // The odds become known while it is looked at: the page follows as it asks again, within a minute at most.
    const sentence = await eventually(
      'page and service say the same',
      async () => {
        const now = plain((await ahead())?.sentence);
        return now !== '' && plain(await page.locator('main').textContent()).includes(now) ? now : null;
      },
      90_000,
    );
    expect(sentence).toMatch(/in 10|nearly sure|hardly likely|cannot be told yet/i);
    await picture(page, 'events-two-phone');
    // Called off: nothing is asked for it any more.
    await page.getByRole('link', { name: 'Advent music' }).click();
    await page.getByRole('button', { name: /^Take it away/ }).click();
    await page.getByRole('button', { name: 'Take it away, yes' }).click();
    await page.waitForURL('**/events');
    expect(await ahead()).toBeUndefined();
    await expect.poll(() => page.getByRole('link', { name: 'Advent music' }).count()).toBe(0);
    await close();
  }, 240_000);

  test('a task is ticked on a phone without script, and seen by the technician', async () => {
    const context = await fleet.browser.newContext({
      javaScriptEnabled: false,
      viewport: { width: 390, height: 844 },
    });
    const page = await context.newPage();
    await page.goto(fleet.service.url + fleet.tasks);
    await page.getByText('Add a word or a photo').first().click();
    await page.getByLabel('Anything to say?').first().fill('Filled to the mark.');
    await page.getByRole('button', { name: /^Done/ }).first().click();
    await page
      .getByText(/ticked at \d\d:\d\d\. Thank you/)
      .first()
      .waitFor();
    await context.close();
    const [task] = await fleet.client.get<VenueTask[]>('/api/venue-tasks');
    expect(task?.note).toBe('Filled to the mark.');
    const { page: mine, close } = await fleet.open('/rooms');
    await mine.getByRole('button', { name: /^Mark as seen/ }).click();
    await eventually('it is marked', async () => {
      const [one] = await fleet.client.get<VenueTask[]>('/api/venue-tasks');
      return one?.seenMs ?? null;
    });
    await expect.poll(() => mine.getByText('All of it is seen.').count()).toBe(1);
    await close();
  });

  test('who has the pages kept on the device still gets what opens by a link', async () => {
    const { page, close } = await fleet.open('/rooms');
    await page.evaluate(async () => {
      await navigator.serviceWorker.ready;
    });
    await page.reload();
    await expect.poll(() => page.evaluate(() => navigator.serviceWorker.controller !== null)).toBe(true);
    for (const path of [fleet.tasks, fleet.care]) {
      await page.goto(fleet.service.url + path);
      expect(await page.locator('.masthead').count()).toBe(0);
      expect(await page.locator('form').count()).toBeGreaterThan(0);
    }
    await close();
  });

  test('a client answers on the care page without script', async () => {
    const context = await fleet.browser.newContext({
      javaScriptEnabled: false,
      viewport: { width: 390, height: 844 },
    });
    const page = await context.newPage();
    await page.goto(fleet.service.url + fleet.care);
    await page.getByRole('button', { name: 'Please call me' }).click();
    await page.getByText(/You answered on/).waitFor();
    expect(await page.locator('[role=status]').textContent()).toContain('that you would like a call');
    await context.close();
    const { page: mine, close } = await fleet.open('/rooms');
    await mine.getByText('E. Brannoway: please call.').waitFor();
    await close();
  });
});
