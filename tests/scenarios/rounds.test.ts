/** Calls gathered into trips: who is gone to when, with whom, and what stays as it was planned. */
import { describe, expect, test } from 'vitest';
import type { Call } from '../../server/contract/index.ts';
import { roundsFrom } from '../../server/watch/rounds.ts';
import { isoDay } from '../../server/watch/trip-dates.ts';
import { dayHolds, waysTo } from '../../server/watch/ways.ts';

const dayMs = 86_400_000;
/** A Thursday, ten in the morning in Vienna. */
const nowMs = Date.parse('2026-03-19T09:00:00Z');
const zone = 'Europe/Vienna';

function call(id: string, changes: Partial<Call> = {}): Call {
  const venueName = changes.venueName ?? 'Larkmoor School';
  return {
    id,
    kind: 'tuning',
    instrumentId: id,
    place: `${venueName} · Studio ${id} · Grand 180 cm`,
    venueName,
    timeZone: zone,
    urgency: 1,
    why: 'The low tenor is flat.',
    earliestMs: nowMs,
    latestMs: nowMs + 60 * dayMs,
    minutes: 60,
    cautions: [],
    noticeIds: [id],
    venueId: venueName,
    bring: ['tuning tools'],
    choice: null,
    ...changes,
  };
}
const accepted = (plannedMs: number | null, personId: string | null = null): Call['choice'] => ({
  choice: 'accepted',
  plannedMs,
  personId,
  reason: '',
  chosenMs: nowMs,
});
const days = (calls: Call[]) =>
  roundsFrom(calls, nowMs).map((one) => [isoDay(one.dateMs, one.timeZone), one.calls.map(({ id }) => id)]);

describe('the way there', () => {
  const ways = waysTo(
    new Map([
      ['Far Hall', { wayMinutes: 120 }],
      ['Near Hall', { wayMinutes: 10 }],
    ]),
  );
  const near = call('n', { venueName: 'Near Hall', minutes: 120 });
  const clocks = (calls: Call[]) =>
    roundsFrom(calls, nowMs, ways).map((one) => [
      one.venueName,
      new Intl.DateTimeFormat('en-GB', {
        timeZone: zone,
        weekday: 'short',
        hour: '2-digit',
        minute: '2-digit',
      }).format(one.dateMs),
    ]);

  test('is the venue’s own where somebody said it, else half an hour, and which of them is told', () => {
    const told = roundsFrom([near, call('1')], nowMs, ways).map((one) => [one.wayMinutes, one.wayAssumed]);
    expect(told).toEqual([
      [10, false],
      [30, true],
    ]);
  });

  test('stands between two venues of a day, and keeps far ones apart', () => {
    const school = call('1', { minutes: 180, urgency: 2 });
    // Nine, three hours, then ten minutes to the next: and all within seven hours.
    expect(clocks([school, near])).toEqual([
      ['Larkmoor School', 'Fri 09:00'],
      ['Near Hall', 'Fri 12:10'],
    ]);
    // 180 + 30 + 120 + 120 minutes are more than seven hours.
    expect(clocks([school, call('f', { venueName: 'Far Hall', minutes: 120 })])).toEqual([
      ['Larkmoor School', 'Fri 09:00'],
      ['Far Hall', 'Mon 09:00'],
    ]);
  });

  test('leaves less of a day where it is long: what six hours hold nearby becomes two trips', () => {
    const four = (venueName: string) => Array.from({ length: 4 }, (_, i) => call(`${i}`, { venueName }));
    expect(roundsFrom(four('Near Hall'), nowMs, ways).map(({ minutes }) => minutes)).toEqual([240]);
    // Seven hours less four on the road.
    expect(roundsFrom(four('Far Hall'), nowMs, ways).map(({ minutes }) => minutes)).toEqual([180, 60]);
  });
});

describe('trips', () => {
  test('a venue’s calls go together, on the next working day, in the order of its rooms', () => {
    expect(days([call('10'), call('2'), call('1')])).toEqual([['2026-03-20', ['1', '2', '10']]]);
  });

  test('what one day does not hold becomes a second trip, on the next working day; the urgent ones go first', () => {
    const many = Array.from({ length: 8 }, (_, i) => call(String(i + 1)));
    const rounds = days([...many, call('9', { urgency: 2 })]);
    expect(rounds).toEqual([
      ['2026-03-20', ['1', '2', '3', '4', '5', '9']],
      // The 21st and 22nd are Saturday and Sunday.
      ['2026-03-23', ['6', '7', '8']],
    ]);
    for (const { minutes } of roundsFrom(many, nowMs)) expect(minutes).toBeLessThanOrEqual(dayHolds(30));
  });

  test('one room is not gone to twice, even where its work alone is more than a day holds', () => {
    const place = 'Larkmoor School · Hall · Grand 270 cm';
    const rounds = days(['a', 'b'].map((id) => call(id, { place, minutes: 300 })));
    expect(rounds).toEqual([['2026-03-20', ['a', 'b']]]);
  });

  test('a call that is over before another may begin is a trip of its own', () => {
    const early = call('1', { latestMs: nowMs + 2 * dayMs });
    const late = call('2', { earliestMs: nowMs + 4 * dayMs });
    const either = call('3');
    expect(days([late, either, early])).toEqual([
      ['2026-03-20', ['1', '3']],
      ['2026-03-23', ['2']],
    ]);
  });

  test('an event on a Sunday is tuned for on the day itself where no working day is left', () => {
    const sunday = nowMs + 3 * dayMs;
    const rounds = days([call('1', { earliestMs: sunday, latestMs: sunday + 3_600_000, noticeIds: [] })]);
    expect(rounds).toEqual([['2026-03-22', ['1']]]);
  });

  test('two venues that do not fit into one day get two; a small one shares the day', () => {
    const far = call('2', { venueName: 'Alder Street Hall', minutes: 300 });
    const small = call('3', { venueName: 'Moss Lane', minutes: 20 });
    const dated = Object.fromEntries(
      roundsFrom([call('1', { minutes: 300, urgency: 2 }), far, small], nowMs).map((one) => [
        one.venueName,
        isoDay(one.dateMs, zone),
      ]),
    );
    expect(dated).toEqual({
      'Larkmoor School': '2026-03-20',
      'Alder Street Hall': '2026-03-23',
      'Moss Lane': '2026-03-20',
    });
    // One after the other, with the way between them: the small one begins when the large one is over.
    const begins = roundsFrom([call('1', { minutes: 300, urgency: 2 }), small], nowMs).map(
      (one) => one.dateMs,
    );
    expect(begins).toEqual([Date.parse('2026-03-20T08:00:00Z'), Date.parse('2026-03-20T13:30:00Z')]);
  });

  test('what is planned stays, by the venue’s day and by who goes; the rest is proposed round it', () => {
    // 23:30 UTC is already the 25th in Vienna.
    const night = Date.parse('2026-03-24T23:30:00Z');
    const planned = [
      call('1', { choice: accepted(night, 'ilva') }),
      call('2', { choice: accepted(night + 3_600_000, 'ilva') }),
      call('3', { choice: accepted(night, 'tam') }),
    ];
    expect(days([...planned, call('4')])).toEqual([
      ['2026-03-20', ['4']],
      ['2026-03-25', ['1', '2']],
      ['2026-03-25', ['3']],
    ]);
  });

  test('declined calls and those better left are in no trip; given to somebody without a day is', () => {
    const declined = call('1', {
      choice: { ...accepted(null), choice: 'declined', reason: 'sold' } as Call['choice'],
    });
    const waiting = call('2', { earliestMs: nowMs + 12 * dayMs });
    const given = call('3', { choice: accepted(null, 'tam') });
    const [only, ...others] = roundsFrom([declined, waiting, given], nowMs);
    expect(others).toEqual([]);
    expect(only).toMatchObject({ planned: false, personId: 'tam' });
  });

  test('what cannot wait may be gone to today', () => {
    const [round] = roundsFrom([call('1', { urgency: 3, latestMs: nowMs + 5 * dayMs })], nowMs);
    expect(round?.dateMs).toBe(nowMs);
  });
});
