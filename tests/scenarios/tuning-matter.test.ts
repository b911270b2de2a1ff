/**
 * Unisons that spread and a pitch that follows within days are one matter: one notice, one message, and what a person
 * decided about it holds, unless it has become graver. Real watch, store and mail server under a clock the story moves.
 */
import { randomUUID } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Notice, RuleName } from '../../server/contract/index.ts';
import { putPerson } from '../../server/registry/people.ts';
import { acknowledge, historyOf, snooze } from '../../server/watch/notice-acts.ts';
import { type OpenEpisode, stepNotices } from '../../server/watch/notice-life.ts';
import type { Decision } from '../../server/watch/rules/rule.ts';
import { tuning } from '../support/api.ts';
import { technician } from '../support/people.ts';
import { openToldStage, type ToldStage } from '../support/told-stage.ts';
import { dayMs, hourMs, ramp, steady } from '../support/watch-stage.ts';

const startMs = Date.parse('2026-01-12T09:00:00Z');

describe('on a timeline', () => {
  let stage: ToldStage;
  beforeEach(async () => {
    stage = await openToldStage(startMs);
    const person = { ...technician, digestHour: 8, quietUntilHour: 7, reminderDays: 0 };
    await putPerson(stage.stores.db, stage.viewer, randomUUID(), person, startMs);
  });
  afterEach(() => stage.stop());

  /** Tuned, left with unisons that are not the best, and four days later the air dries out. */
  async function tuned(use: 'studio' | 'concert', unisonsLeftCents: number, toPct: number, overDays: number) {
    const from = startMs + 4 * dayMs;
    const air = ramp(50, toPct, from, from + overDays * dayMs);
    const piano = await stage.piano(await stage.venue(), 'Hall', air, { use });
    // How a tuner leaves unisons is learned from more than one tuning: others stand in steady air.
    for (let i = 0; i < 6; i++) await stage.piano(piano.venueId, `Room ${i}`, steady(50), { use });
    await stage.past(60);
    for (const { id } of stage.pianos) await stage.visit(tuning(id, startMs, { unisonsLeftCents }));
    return piano;
  }
  const ofTuning = async (): Promise<Notice[]> =>
    (await stage.notices()).filter(
      (one) =>
        one.instrumentId === stage.pianos[0]?.id && (one.rule === 'unisons-out' || one.rule === 'pitch-out'),
    );
  async function until(is: (notice: Notice | undefined) => boolean): Promise<Notice> {
    for (let looks = 0; looks < 40 * 6; looks++) {
      const [notice, ...more] = await ofTuning();
      expect(more).toEqual([]);
      if (notice && is(notice)) return notice;
      await stage.pass(4 * hourMs, 4 * hourMs);
    }
    throw new Error('it did not come to that in forty days');
  }
  const kinds = async (notice: Notice) =>
    (await historyOf(stage.stores.db, stage.viewer, notice.id)).events.map((one) => one.kind);
  /** How often a message spoke of this piano's tuning as of something new. */
  const toldAsNew = () =>
    stage.box.mails.filter((mail) => /unisons are about|cents? (flat|sharp)/.test(mail.text ?? ''));

  test('the pitch joins the notice of the unisons: told once, and the acknowledgement holds', async () => {
    const piano = await tuned('studio', 2.3, 38, 6);
    const unisons = await until((one) => one?.rule === 'unisons-out');
    const by = { by: 'Ilva', note: 'on the list for Thursday' };
    await acknowledge(stage.stores.db, stage.viewer, unisons.id, by, stage.nowMs);
    const pitch = await until((one) => one?.rule === 'pitch-out');
    expect(pitch).toMatchObject({ id: unisons.id, beganMs: unisons.beganMs, severity: unisons.severity });
    expect(pitch.acknowledged?.note).toBe('on the list for Thursday');
    expect(pitch.what).toMatch(/cents flat.*unisons are about/);
    expect(await kinds(pitch)).toEqual(['begins', 'acknowledged', 'becomes']);
    // Some digest hours pass.
    await stage.pass(3 * dayMs, 4 * hourMs);
    expect(await kinds(pitch)).toEqual(['begins', 'acknowledged', 'becomes']);
    expect(toldAsNew()).toHaveLength(1);
    // One visit settles both.
    await stage.visit(tuning(piano.id, stage.nowMs, { unisonsLeftCents: 0.5 }));
    expect(await ofTuning()).toMatchObject([{ id: unisons.id, state: 'over' }]);
  });

  test('who left the unisons alone hears nothing of a pitch that is no graver', async () => {
    await tuned('studio', 2.3, 38, 6);
    const unisons = await until((one) => one?.rule === 'unisons-out');
    const before = toldAsNew().length;
    const untilMs = stage.nowMs + 20 * dayMs;
    await snooze(stage.stores.db, stage.viewer, unisons.id, { untilMs, by: 'Ilva' }, stage.nowMs);
    const pitch = await until((one) => one?.rule === 'pitch-out');
    expect(pitch).toMatchObject({ id: unisons.id, snoozedUntilMs: untilMs });
    await stage.pass(3 * dayMs, 4 * hourMs);
    // That the unisons began was told before they were left alone.
    expect(toldAsNew().length).toBe(before);
  });

  test('a pitch that is graver than the unisons were is told anew, and asks to be acknowledged again', async () => {
    await tuned('concert', 1.3, 40, 3);
    const unisons = await until((one) => one?.rule === 'unisons-out');
    await acknowledge(stage.stores.db, stage.viewer, unisons.id, { by: 'Ilva', note: '' }, stage.nowMs);
    const pitch = await until((one) => one?.rule === 'pitch-out');
    expect(pitch.id).toBe(unisons.id);
    expect(pitch.severity).toBeGreaterThan(unisons.severity);
    expect(pitch.acknowledged).toBeNull();
    expect(await kinds(pitch)).toEqual(['begins', 'acknowledged', 'becomes', 'worse']);
  });
});

describe('the step', () => {
  const open = (rule: RuleName): OpenEpisode => ({ id: `of ${rule}`, rule, severity: 1, frozen: false });
  const decide = (rule: RuleName, holds: boolean, changes: Partial<Decision> = {}): Decision => ({
    rule,
    holds,
    sinceMs: holds ? startMs : null,
    frozen: null,
    severity: 1,
    endedBecause: 'it has passed',
    words: () => {
      throw new Error('no words are asked for');
    },
    ...changes,
  });
  const stepsOf = (...all: Parameters<typeof stepNotices>) =>
    stepNotices(...all).map((one) => `${one.kind} ${one.decision.rule}${'id' in one ? ` ${one.id}` : ''}`);

  test('a pitch that comes back leaves the unisons, under the same notice', () => {
    expect(stepsOf([open('pitch-out')], [decide('pitch-out', false), decide('unisons-out', true)])).toEqual([
      'becomes unisons-out of pitch-out',
    ]);
  });

  test('other matters that end and begin together stay two', () => {
    expect(stepsOf([open('board-dry')], [decide('board-dry', false), decide('pitch-out', true)])).toEqual([
      'over board-dry of board-dry',
      'begins pitch-out',
    ]);
  });

  test('what is frozen hands nothing on', () => {
    const frozen = { frozen: 'nothing was heard of its air' };
    expect(
      stepsOf([open('unisons-out')], [decide('unisons-out', false, frozen), decide('pitch-out', true)]),
    ).toEqual(['freezes unisons-out of unisons-out', 'begins pitch-out']);
  });

  test('where both were open from before, each goes its own way', () => {
    expect(
      stepsOf(
        [open('unisons-out'), open('pitch-out')],
        [decide('pitch-out', true), decide('unisons-out', false)],
      ),
    ).toEqual(['goes on pitch-out of pitch-out', 'over unisons-out of unisons-out']);
  });
});
