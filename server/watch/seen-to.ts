/**
 * Notices that a visit has seen to though what they are about goes on: a pinblock stays as dry, a room as damp, after hands
 * have done what they could. They ask for no visit any more, until they begin anew or grow worse.
 */
import * as z from 'zod/mini';
import type { Call, Notice } from '../contract/index.ts';
import { among } from '../db/among.ts';
import type { Database } from '../db/database.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';

/** What the air decides; pitch, services and findings are over by what the visit recorded. */
const goesOn: readonly Notice['rule'][] = [
  'board-dry',
  'board-wet',
  'action-wet',
  'control-lost',
  'pins-dry',
  'rust',
  'mould',
  'swing',
];
/** A planned visit may come somewhat early. */
const earlyMs = 12 * 3_600_000;

const looked = z.object({
  findings: z.array(z.unknown()),
  sheet: z.optional(z.object({ sound: z.array(z.unknown()) })),
});

export interface SeenTo {
  /** Ids of notices whose call is on record as done. */
  readonly done: ReadonlySet<string>;
  /** Of those after which a visit looked over the instrument, or came when one was planned for them. */
  readonly visited: ReadonlySet<string>;
}
const nothing: SeenTo = { done: new Set(), visited: new Set() };

/** @param calls as all of these notices ask for them */
export async function seenTo(
  db: Database,
  viewer: Viewer,
  open: readonly Notice[],
  calls: readonly Call[],
): Promise<SeenTo> {
  const asking = open.filter((one) => one.instrumentId !== null && goesOn.includes(one.rule));
  if (asking.length === 0 || calls.length === 0) return nothing;
  const visits = await db
    .selectFrom('visit')
    .$call(seenBy(viewer, 'visit'))
    .select(['instrument_id', 'at_ms', 'body'])
    .where('instrument_id', 'in', among(asking.flatMap((one) => one.instrumentId ?? [])))
    .where('at_ms', '>', Math.min(...asking.map((one) => one.beganMs)))
    .execute();
  if (visits.length === 0) return nothing;
  const toldMs = await lastToldMs(db, viewer, asking);
  const done = await db
    .selectFrom('call_done')
    .$call(seenBy(viewer, 'call_done'))
    .select(['call_id', 'done_ms'])
    .where('call_id', 'in', among(calls.map((one) => one.id)))
    .execute();
  const ids = (is: (notice: Notice, sinceMs: number, call: Call | undefined) => boolean) =>
    new Set(
      asking
        .filter((notice) => {
          const call = calls.find((one) => one.noticeIds.includes(notice.id));
          return is(notice, toldMs.get(notice.id) ?? notice.beganMs, call);
        })
        .map((one) => one.id),
    );
  return {
    done: ids((_, sinceMs, call) => done.some((one) => one.call_id === call?.id && one.done_ms > sinceMs)),
    visited: ids((notice, sinceMs, call) => {
      const plannedMs = call?.choice?.plannedMs ?? null;
      return visits.some(
        (one) =>
          one.instrument_id === notice.instrumentId &&
          one.at_ms > sinceMs &&
          ((plannedMs !== null && one.at_ms >= plannedMs - earlyMs) || isLookedOver(one.body)),
      );
    }),
  };
}

/** Something was found, or looked at and found sound. */
function isLookedOver(body: string): boolean {
  const { findings, sheet } = looked.parse(JSON.parse(body));
  return findings.length > 0 || (sheet?.sound.length ?? 0) > 0;
}

/** When each was last news: begun, or grown worse. */
async function lastToldMs(
  db: Database,
  viewer: Viewer,
  all: readonly Notice[],
): Promise<ReadonlyMap<string, number>> {
  const rows = await db
    .selectFrom('notice_event')
    .$call(seenBy(viewer, 'notice_event'))
    .select(({ fn }) => ['notice_id', fn.max('at_ms').as('lastMs')])
    .where('kind', 'in', ['begins', 'worse'])
    .where('notice_id', 'in', among(all.map((one) => one.id)))
    .groupBy('notice_id')
    .execute();
  return new Map(rows.map((one) => [one.notice_id, Number(one.lastMs)]));
}
