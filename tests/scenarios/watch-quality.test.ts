/** How the watch is judged (habits of ISA-18.2: rates, what comes and goes, what stays open): from notices and what was done. */
import { randomUUID } from 'node:crypto';
import { afterEach, describe, expect, test } from 'vitest';
import type { RuleName } from '../../server/contract/index.ts';
import { watchQuality } from '../../server/watch/quality-store.ts';
import { dayMs, openStage, type Piano, type Stage, steady } from '../support/watch-stage.ts';

const nowMs = Date.parse('2026-03-01T09:00:00Z');

describe('the quality of the watch', () => {
  let stage: Stage;
  afterEach(() => stage.stop());
  let pianos: Piano[];

  async function open(): Promise<void> {
    stage = await openStage(nowMs);
    const venue = await stage.venue();
    pianos = [await stage.piano(venue, 'One', steady(45)), await stage.piano(venue, 'Two', steady(45))];
  }
  interface Told {
    readonly rule: RuleName;
    /** null: of the whole venue. */
    readonly piano: number | null;
    readonly beganDay: number;
    readonly overDay?: number;
    readonly partOf?: string;
  }
  /** Days are counted back from now. */
  async function notice({ rule, piano, beganDay, overDay, partOf }: Told): Promise<string> {
    const id = randomUUID();
    const { venueId, id: instrument } = pianos[piano ?? 0] ?? { venueId: '', id: '' };
    const of = piano === null ? null : instrument;
    const words = { place: `${rule} ${piano}`, what: '', why: '', to_do: '', minutes: 0, evidence: '{}' };
    await stage.stores.db
      .insertInto('notice')
      .values({
        ...{ id, organisation_id: stage.viewer.organisationId, rule, severity: 1, ...words },
        ...{ subject_id: of ?? venueId, instrument_id: of, sensor_id: null, venue_id: venueId },
        state: overDay === undefined ? 'open' : 'over',
        began_ms: nowMs - beganDay * dayMs,
        over_ms: overDay === undefined ? null : nowMs - overDay * dayMs,
        not_before_ms: null,
        part_of: partOf ?? null,
      })
      .execute();
    return id;
  }
  const done = (piano: number, kind: string, day: number) =>
    stage.stores.db
      .insertInto('call_done')
      .values({
        ...{ call_id: randomUUID(), visit_id: randomUUID(), organisation_id: stage.viewer.organisationId },
        ...{ instrument_id: pianos[piano]?.id ?? '', kind, place: '', why: '', planned_ms: null },
        done_ms: nowMs - day * dayMs,
      })
      .execute();
  const ask = (days: number) => watchQuality(stage.stores.db, stage.viewer, days, nowMs);

  test('what has stayed open for long is told whatever the window; the rate counts what began in it', async () => {
    await open();
    await notice({ rule: 'finding-open', piano: 0, beganDay: 200 });
    await notice({ rule: 'swing', piano: 1, beganDay: 34, overDay: 32 });
    await notice({ rule: 'swing', piano: 1, beganDay: 28, overDay: 20 });
    const month = await ask(30);
    expect(month.stale).toEqual([{ place: 'finding-open 0', rule: 'finding-open', days: 200 }]);
    expect(month.byRule.map(({ rule, count }) => [rule, count])).toEqual([['swing', 1]]);
    // One notice in 30 days over two pianos, a month being 30.44 days.
    expect(month.noticesPerInstrumentMonth).toBeCloseTo(30.44 / 60, 10);
    // It began four days after its last end, which lies before the window.
    expect(month.flapping).toEqual([{ place: 'swing 1', rule: 'swing', count: 1 }]);
  });

  test('work is a visit of the kind that was asked for, or the venue’s own tick; of a whole venue, at any of its pianos', async () => {
    await open();
    await notice({ rule: 'mould', piano: 0, beganDay: 20 });
    await notice({ rule: 'pitch-out', piano: 0, beganDay: 20 });
    const whole = await notice({ rule: 'board-dry', piano: null, beganDay: 20 });
    await notice({ rule: 'board-dry', piano: 1, beganDay: 20, partOf: whole });
    await done(0, 'tuning', 10);
    const shares = async () =>
      Object.fromEntries((await ask(90)).byRule.map(({ rule, workShare }) => [rule, workShare]));
    expect(await shares()).toEqual({ mould: 0, 'pitch-out': 1, 'board-dry': 0 });
    await stage.stores.db
      .insertInto('venue_task')
      .values({
        ...{ id: randomUUID(), organisation_id: stage.viewer.organisationId, note: '', task: 'Raise it.' },
        ...{ venue_id: pianos[1]?.venueId ?? '', room_id: pianos[1]?.roomId ?? null },
        ...{ kind: 'dry', day: '2026-02-20', done_ms: nowMs - 9 * dayMs },
      })
      .execute();
    expect(await shares()).toMatchObject({ 'board-dry': 1 });
  });
});
