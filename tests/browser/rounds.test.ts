/**
 * The technician's week in a real browser: rounds in words, decided and undone on the page, by keyboard too; the hours of
 * the year; notices acknowledged and snoozed. Pictures are left in .test-output/browser.
 */
import { randomUUID } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import type { Notice, RoundsPage, YearPlan } from '../../server/contract/index.ts';
import { firstOrganisation } from '../../server/registry/organisations.ts';
import { openStores } from '../../server/services.ts';
import { technician } from '../support/people.ts';
import { eventually } from '../support/service.ts';
import { standing } from '../support/standing.ts';
import { chromiumIsHere } from './chromium.ts';
import { dayMs, fleetStage } from './fleet.ts';
import { eachForEverybody } from './for-everybody.ts';
import { openHeard } from './heard.ts';
import { plainText } from './stage.ts';

// On a busy machine a page takes its time.
describe.skipIf(!chromiumIsHere)('rounds', { timeout: 180_000 }, () => {
  const personId = randomUUID();
  const fleet = standing(async (undo) => {
    const fleet = await fleetStage(undo);
    await fleet.client.put(`/api/people/${personId}`, { ...technician, email: null });
    const { venueId } = await fleet.client.instrument(fleet.calm);
    await fleet.client.put(`/api/events/${randomUUID()}`, {
      ...{ venueId, name: 'Spring recital', startMs: Date.now() + 6 * dayMs, instrumentIds: [fleet.calm] },
    });
    return fleet;
  }, 180_000);

  const rounds = () => fleet.client.get<RoundsPage>('/api/rounds');
  const callsOf = (page: RoundsPage) => page.rounds.flatMap((round) => round.calls);

  eachForEverybody(
    { 'rounds-year': () => '/rounds/year', notices: () => '/notices', rounds: () => '/rounds' },
    async (path, device, name) => {
      const visitor = await fleet.open(path, device);
      if (name === 'rounds') {
        const first = (begin: RegExp) => visitor.page.getByRole('button', { name: begin }).first();
        await first(/^Plan /).click();
        await first(/^Decide/).click();
      }
      return visitor;
    },
  );

  test('the page opens with a sentence that agrees with the service; what was called calls leads here', async () => {
    const { page, answered, close } = await openHeard(fleet, '/calls');
    await page.waitForURL('**/rounds');
    const told = await answered<RoundsPage>('/api/rounds');
    const number = ['No', 'One', 'Two', 'Three'][told.rounds.length] ?? '';
    expect(await plainText(page, 'h1')).toMatch(new RegExp(`^${number} rounds? by \\d+ \\w+$`));
    const asking = new Set(callsOf(told).map((call) => call.instrumentId)).size;
    expect(await plainText(page, '.lead')).toContain(`${['', 'One', 'Two'][asking]} of 3 instruments ask`);
    const minutes = told.rounds.reduce((sum, round) => sum + round.minutes, 0);
    expect(await plainText(page, '.lead')).toContain(`${Math.floor(minutes / 60)} h`);
    // The visitor's device stands in New York: the day is the venue's all the same.
    const [first] = told.rounds;
    const day = new Intl.DateTimeFormat('en-GB', {
      ...{ weekday: 'long', day: 'numeric', month: 'long', timeZone: 'Europe/Vienna' },
    }).format(first?.dateMs);
    expect(await plainText(page, '.round header .button')).toContain(day.replace(',', ''));
    expect(await plainText(page, '.round-notes')).toContain('Bring: tuning tools');
    await close();
  });

  test('by keyboard alone: a round is accepted, its calls follow one another, and it is undone', async () => {
    const { page, complaints, close } = await fleet.open('/rounds');
    await page
      .getByRole('button', { name: /^Plan / })
      .first()
      .focus();
    await page.keyboard.press('Enter');
    await page.locator('.decide').waitFor();
    await page.getByLabel('Who goes').selectOption({ label: 'Ilva Marrendow' });
    await page.getByLabel(/^(When|Beginning)$/).focus();
    await page.keyboard.press('Enter');
    await expect.poll(() => plainText(page, '.decided')).toContain('Accepted for');
    // The focus is where it was before, not lost with the form.
    expect(await page.evaluate(() => document.activeElement?.className)).toContain('button');
    const after = await rounds();
    const planned = after.rounds.filter((round) => round.planned);
    expect(planned).toHaveLength(1);
    expect(planned[0]?.personId).toBe(personId);
    const times = planned[0]?.calls.map((call) => call.choice?.plannedMs ?? 0) ?? [];
    expect(times.toSorted((a, b) => a - b)).toEqual(times);
    expect(await plainText(page, '.round-notes')).toContain('Ilva Marrendow');
    await page.getByRole('button', { name: 'Undo' }).focus();
    await page.keyboard.press('Enter');
    await expect.poll(() => plainText(page, '.decided')).toContain('Undone');
    expect((await rounds()).rounds.some((round) => round.planned)).toBe(false);
    expect(complaints).toEqual([]);
    await close();
  });

  test('declining asks for a reason at its field; it can be taken back from where it is listed', async () => {
    const { page, close } = await fleet.open('/rounds');
    await page
      .getByRole('button', { name: /^Decide/ })
      .first()
      .click();
    const form = page.locator('.decide');
    await form.getByRole('radio', { name: 'decline it' }).check();
    await form.getByRole('button', { name: 'Decline' }).click();
    await expect.poll(() => plainText(page, '.decide .fault')).toContain('Say why');
    expect(await page.evaluate(() => (document.activeElement as HTMLInputElement).name)).toBe('reason');
    await form.getByLabel('Why').fill('sold to a pupil');
    await form.getByRole('button', { name: 'Decline' }).click();
    await page.locator('#declined').waitFor();
    expect(await plainText(page, '.past')).toContain('“sold to a pupil”');
    expect((await rounds()).declined).toHaveLength(1);
    await page
      .locator('.past')
      .getByRole('button', { name: /^Take it back/ })
      .click();
    await expect.poll(async () => (await rounds()).declined.length).toBe(0);
    await page.locator('#declined').waitFor({ state: 'detached' });
    await close();
  });

  test('one call is moved to another day and given to a person; it then is a round of its own', async () => {
    const before = (await rounds()).rounds.length;
    const { page, close } = await fleet.open('/rounds');
    await page
      .getByRole('button', { name: /^Decide/ })
      .first()
      .click();
    // Three weeks ahead: its month may be the next, so it is reckoned, not spelled out.
    const then = new Date(Date.now() + 21 * dayMs).toISOString().slice(0, 10);
    await page.getByLabel('When').fill(`${then}T14:30`);
    await page.getByLabel('Who goes').selectOption({ label: 'Ilva Marrendow' });
    await page.getByRole('button', { name: 'Accept' }).click();
    await page.locator('.round .button.planned').waitFor();
    const after = await rounds();
    const planned = after.rounds.find((round) => round.planned);
    expect(planned?.calls).toHaveLength(1);
    const local = new Intl.DateTimeFormat('sv-SE', {
      ...{ dateStyle: 'short', timeStyle: 'short', timeZone: 'Europe/Vienna' },
    }).format(planned?.dateMs);
    expect(local).toBe(`${then} 14:30`);
    expect(after.rounds.length).toBeGreaterThanOrEqual(before);
    await page.locator('.round-call').getByRole('button', { name: 'Take it back' }).click();
    await expect.poll(async () => (await rounds()).rounds.some((round) => round.planned)).toBe(false);
    await close();
  });

  test('a planned day that passed without a visit is said, not kept as if it were to come', async () => {
    const [call] = callsOf(await rounds());
    const choice = { choice: 'accepted', plannedMs: Date.now() - 2 * dayMs, personId: null, reason: '' };
    await fleet.client.put('/api/calls/choices', { choices: [{ id: call?.id, choice }] });
    const { page, close } = await fleet.open('/rounds');
    await expect
      .poll(() => plainText(page, '.round-notes'))
      .toContain('Its day has passed and no visit is recorded');
    await fleet.client.put('/api/calls/choices', { choices: [{ id: call?.id, choice: null }] });
    await close();
  });

  test('the year: figures under the bars are the service’s; too few hours are said; a request tells nothing of other venues', async () => {
    const { page, answered, close } = await openHeard(fleet, '/rounds/year');
    await page.getByLabel('There are, each month').fill('1');
    await expect.poll(() => plainText(page, '.plan-words')).toMatch(/more than the 1 hours? there are/);
    // It is asked for again until every best date is known; each may move the hours of the months.
    const plan = await eventually('the page knows every best date', async () => {
      const told = await answered<YearPlan>('/api/year-plan?hours=1');
      return told.pending === 0 && told;
    });
    const total = plan.months.reduce((sum, month) => sum + month.hours, 0);
    await expect.poll(() => plainText(page, '.year-table tfoot')).toContain(total.toFixed(1));
    expect(await page.locator('.year-bars .own').count()).toBe(12);

    // A year of readings is needed for a what-if; here are ten weeks: said, not hidden.
    await page.getByRole('button', { name: /^Work it out/ }).click();
    await expect.poll(() => plainText(page, '.venue-answer')).toContain('a year of readings is needed');
    await page.getByRole('radio', { name: 'a request for hours' }).check();
    const [venue, other] = [
      ...new Set(plan.months.flatMap(({ venues }) => venues.map((one) => one.venueName))),
    ];
    expect(await plainText(page, 'h1')).toContain('Request for hours: Larkmoor School of Music');
    expect([venue, other]).toContain('Larkmoor School of Music');
    await page.getByLabel('Words of your own').fill('Dear Ms Ondrelle,');
    await page.emulateMedia({ media: 'print' });
    expect(await page.locator('.own-words').isVisible()).toBe(true);
    for (const hidden of [
      '.masthead nav',
      '.year-choices',
      '.print-choices',
      '.plan-words',
      '.venue-what-if',
    ]) {
      expect(await page.locator(hidden).isVisible()).toBe(false);
    }
    const venueIds = new Set(plan.months.flatMap(({ venues }) => venues.map((one) => one.venueId)));
    expect(venueIds.size).toBeGreaterThan(1);
    // Of the fleet's hours only this venue's are left in the table.
    const own = await plainText(page, '.year-table tfoot');
    expect(own).not.toContain(total.toFixed(1));
    await close();
  });

  test('a notice is acknowledged, looked back on and snoozed without leaving the page', async () => {
    const { page, close } = await fleet.open(`/instruments/${fleet.flat}`);
    const notice = page.locator('.notices .notice').first();
    await notice.getByRole('button', { name: /^Acknowledge/ }).click();
    await notice.getByLabel('By', { exact: true }).fill('Ilva Marrendow');
    await notice.getByLabel('Note').fill('told the porter');
    await notice.getByRole('button', { name: 'Acknowledge it' }).click();
    await expect.poll(() => plainText(page, '.notices .done')).toContain('“told the porter”');
    await notice.getByRole('button', { name: /^What happened/ }).click();
    await expect.poll(() => plainText(page, '.history')).toContain('acknowledged: told the porter');

    await page.goto(`${fleet.service.url}/notices`);
    const known = page.locator('section[aria-labelledby="known"] .notice');
    await expect.poll(() => known.count()).toBe(1);
    await known.getByRole('button', { name: /^Snooze/ }).click();
    await known.getByLabel('Until').fill('2020-01-01T08:00');
    await known.getByRole('button', { name: 'Snooze it' }).click();
    await expect.poll(() => known.locator('.fault').textContent()).toContain('Must lie ahead');
    const then = new Date(Date.now() + 30 * dayMs).toISOString().slice(0, 10);
    await known.getByLabel('Until').fill(`${then}T08:00`);
    await known.getByRole('button', { name: 'Snooze it' }).click();
    await expect.poll(() => known.locator('.done').textContent()).toContain('Snoozed until');
    const [kept] = (await fleet.client.get<Notice[]>('/api/notices')).filter((one) => one.acknowledged);
    expect(kept?.acknowledged).toMatchObject({ by: 'Ilva Marrendow', note: 'told the porter' });
    expect(kept?.snoozedUntilMs).toBeGreaterThan(Date.now());
    // A snoozed notice asks for no visit.
    await eventually('the call is gone', async () =>
      callsOf(await rounds()).every((call) => !call.noticeIds.includes(kept?.id ?? '')),
    );
    await close();
  });

  test('a notice of a whole house names the places it is told for', async () => {
    const stores = await openStores(fleet.folder);
    const { organisationId: organisation_id } = await firstOrganisation(stores.db, Date.now());
    const { venueId } = await fleet.client.instrument(fleet.calm);
    const whole = randomUUID();
    const row = (id: string, sensor_id: string | null, place: string) => ({
      ...{ id, organisation_id, rule: 'sensor-silent', severity: 1, state: 'open', place },
      ...{ subject_id: sensor_id ?? venueId, instrument_id: null, sensor_id, venue_id: venueId },
      ...{ began_ms: Date.now(), over_ms: null, not_before_ms: null, minutes: 0, evidence: '{}' },
      ...{ what: 'From 2 of 3 sensors nothing is heard.', why: '', to_do: 'See to the gateway.' },
      part_of: sensor_id === null ? null : whole,
    });
    await stores.db
      .insertInto('notice')
      .values([
        row(whole, null, 'Larkmoor School of Music'),
        row(randomUUID(), randomUUID(), 'Larkmoor School of Music · Attic'),
        row(randomUUID(), randomUUID(), 'Larkmoor School of Music · Vault'),
      ])
      .execute();
    await stores.stop();
    const { page, close } = await fleet.open('/notices');
    const told = page.locator('.notice', { hasText: 'nothing is heard' });
    await expect.poll(() => told.count()).toBe(1);
    await told.getByText('Where', { exact: true }).click();
    expect(await told.locator('.notice-members li').allTextContents()).toEqual(
      expect.arrayContaining(['Larkmoor School of Music · Attic', 'Larkmoor School of Music · Vault']),
    );
    await close();
  });
});
