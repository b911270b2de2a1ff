/** The way to a venue: entered with it, refused where it cannot be, and counted with in the rounds. */
import { randomUUID } from 'node:crypto';
import { expect, test } from 'vitest';
import type { RoundsPage, Venue, YearPlan } from '../../server/contract/index.ts';
import { problem } from '../../server/contract/index.ts';
import { serviceStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';

const stage = standing((undo) => serviceStage(undo));
const dayMs = 86_400_000;

test('a round counts with the minutes its venue says, else with half an hour, and says that it is assumed', async () => {
  const { client } = stage;
  const { venueId, instrumentId } = await client.house();
  const venue = { name: 'Larkmoor School of Music', timeZone: 'Europe/Vienna' };
  // An event that needs the piano is a call of its own, whatever is known of the air.
  await client.put(`/api/events/${randomUUID()}`, {
    venueId,
    name: 'Spring recital',
    startMs: Date.now() + 8 * dayMs,
    instrumentIds: [instrumentId],
  });
  const way = async () => {
    const [round] = (await client.get<RoundsPage>('/api/rounds')).rounds;
    return [round?.wayMinutes, round?.wayAssumed];
  };
  expect(await way()).toEqual([30, true]);
  expect((await client.get<YearPlan>('/api/year-plan')).sentences.at(-1)).toContain('are assumed');
  await client.put(`/api/venues/${venueId}`, { ...venue, wayMinutes: 95 });
  expect(await way()).toEqual([95, false]);
  expect((await client.get<YearPlan>('/api/year-plan')).sentences.at(-1)).not.toContain('assumed');
  const [kept] = await client.get<Venue[]>('/api/venues');
  expect(kept).toMatchObject({ ...venue, wayMinutes: 95 });
  // Taken back: not said again.
  await client.put(`/api/venues/${venueId}`, { ...venue, wayMinutes: null });
  expect(await way()).toEqual([30, true]);
});

test.each([-1, 721, 12.5, '45', 1e9])('a way of %s is refused at its field', async (wayMinutes) => {
  const answer = await stage.client.ask('PUT', `/api/venues/${randomUUID()}`, {
    ...{ name: 'X', timeZone: 'Europe/Vienna', wayMinutes },
  });
  expect(answer.status).toBe(400);
  expect(problem.parse(answer.body).faults?.map(({ field }) => field)).toEqual(['wayMinutes']);
});
