/** Gathers what is open at each venue into venue-wide notices and keeps their words current. */
import { randomUUID } from 'node:crypto';
import type { Insertable } from 'kysely';
import type { RuleName } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import type { Records } from '../db/schema.ts';
import { seenBy, type Viewer } from '../registry/viewer.ts';
import { insertEvents, notLeftAlone, stillSnoozed } from './notices.ts';
import type { RegistryFacts } from './registry-facts.ts';
import { gather, gathered, type OpenOne, type OpenWhole, wholeWords } from './venue-wide.ts';

export async function gatherVenues(
  db: Database,
  viewer: Viewer,
  facts: RegistryFacts,
  nowMs: number,
): Promise<void> {
  await db.transaction().execute(async (trx) => {
    const rows = await trx
      .selectFrom('notice')
      .$call(seenBy(viewer, 'notice'))
      .select([
        'id',
        'rule',
        'venue_id',
        'subject_id',
        'severity',
        'began_ms',
        'state',
        'part_of',
        'place',
        'what',
      ])
      .where('state', '<>', 'over')
      .where('rule', 'in', gathered)
      .execute();
    const isWhole = (row: { venue_id: string | null; subject_id: string }) => row.subject_id === row.venue_id;
    const places = new Map(rows.map((row) => [row.id, row.place]));
    const ones = rows.flatMap((row): OpenOne[] =>
      row.venue_id === null || isWhole(row)
        ? []
        : [
            {
              id: row.id,
              rule: row.rule as RuleName,
              venueId: row.venue_id,
              severity: row.severity as OpenOne['severity'],
              beganMs: row.began_ms,
              frozen: row.state === 'frozen',
              partOf: row.part_of,
            },
          ],
    );
    const wholes = rows.filter(isWhole).map(
      (row): OpenWhole => ({
        id: row.id,
        rule: row.rule as RuleName,
        venueId: row.venue_id ?? '',
        beganMs: row.began_ms,
        severity: row.severity as OpenWhole['severity'],
        members: ones.filter((one) => one.partOf === row.id).length,
      }),
    );
    const organisation_id = viewer.organisationId;
    const standing = standingAt(facts, nowMs);
    const partOf = new Map(ones.map((one) => [one.id, one.partOf]));
    const event = (notice_id: string, kind: string, severity: number, note: string) =>
      insertEvents(trx, [{ organisation_id, notice_id, at_ms: nowMs, kind, severity, note }]);

    const end = async (whole: OpenWhole, because: string): Promise<void> => {
      await trx
        .updateTable('notice')
        .set({ state: 'over', over_ms: nowMs, ended_because: because })
        .where('organisation_id', '=', organisation_id)
        .where('id', '=', whole.id)
        .execute();
      await event(whole.id, 'over', whole.severity, because);
    };

    for (const step of gather(ones, wholes, standing)) {
      if (step.kind === 'over') {
        await end(step.whole, 'it has passed everywhere');
        continue;
      }
      const id = step.kind === 'gather' ? randomUUID() : step.whole.id;
      const members = step.kind === 'gather' ? [...step.wave, ...step.carried] : step.members;
      const severity = Math.max(...members.map((one) => one.severity));
      if (step.kind === 'gather') {
        if (step.instead) await end(step.instead, 'it goes on in a new notice, with what began since');
        const venue = facts.venues.get(step.venueId);
        const names = members.map((one) => places.get(one.id) ?? '');
        const words = wordsFor(step.rule, names, venue?.name ?? '', standing(step.venueId, step.rule));
        const begun: Insertable<Records['notice']> = {
          id,
          organisation_id,
          rule: step.rule,
          subject_id: step.venueId,
          instrument_id: null,
          sensor_id: null,
          venue_id: step.venueId,
          severity,
          state: 'open',
          began_ms: Math.min(...step.wave.map((one) => one.beganMs)),
          over_ms: null,
          place: venue?.name ?? '',
          not_before_ms: null,
          minutes: 0,
          to_client: '',
          ...words,
        };
        const [left] = await stillSnoozed(trx, viewer, [begun], nowMs);
        await trx
          .insertInto('notice')
          .values({ ...begun, snoozed_until_ms: left?.untilMs ?? null })
          .execute();
        await event(id, 'begins', severity, words.what);
        if (left) await event(id, 'snoozed', severity, 'left alone since an episode before');
      }
      await trx
        .updateTable('notice')
        .set({ part_of: id })
        .where('organisation_id', '=', organisation_id)
        .where(
          'id',
          'in',
          members.map((one) => one.id),
        )
        .execute();
      for (const member of members) {
        partOf.set(member.id, id);
        await event(member.id, 'joins', member.severity, 'told with the others of its venue');
      }
    }
    for (const whole of wholes) {
      const members = ones.filter((one) => partOf.get(one.id) === whole.id);
      if (members.length === 0) continue;
      const venue = facts.venues.get(whole.venueId);
      const names = members.map((one) => places.get(one.id) ?? '');
      const words = wordsFor(whole.rule, names, venue?.name ?? '', standing(whole.venueId, whole.rule));
      const row = rows.find((one) => one.id === whole.id);
      const severity = Math.max(whole.severity, ...members.map((one) => one.severity));
      const state = members.every((one) => one.frozen) ? 'frozen' : 'open';
      const worse = severity > whole.severity;
      if (row?.what === words.what && !worse && row.state === state) continue;
      await trx
        .updateTable('notice')
        .set({ ...words, severity, state, ...(worse ? notLeftAlone : {}) })
        .where('organisation_id', '=', organisation_id)
        .where('id', '=', whole.id)
        .execute();
      if (worse) await event(whole.id, 'worse', severity, words.what);
    }
  });
}

function wordsFor(rule: RuleName, places: readonly string[], venueName: string, all: number) {
  const within = places.map((place) =>
    place.startsWith(`${venueName} · `) ? place.slice(venueName.length + 3) : place,
  );
  const { toDo, toVenue, ...words } = wholeWords(rule, within, all);
  return {
    ...words,
    to_do: toDo,
    to_venue: toVenue,
    evidence: JSON.stringify({ members: places.length, 'of all': all }),
  };
}

/** How many instruments or sensors stand at a venue now. */
function standingAt(facts: RegistryFacts, nowMs: number): (venueId: string, rule: RuleName) => number {
  const instruments = new Map<string, number>();
  for (const one of facts.instruments) instruments.set(one.venueId, (instruments.get(one.venueId) ?? 0) + 1);
  const sensors = new Map<string, number>();
  for (const one of facts.placements) {
    if (one.fromMs > nowMs || (one.untilMs !== null && one.untilMs <= nowMs)) continue;
    const instrument = one.instrumentId ? facts.byId.get(one.instrumentId) : undefined;
    const room = one.roomId ? facts.rooms.get(one.roomId) : undefined;
    const venueId = instrument?.venueId ?? room?.venueId ?? one.venueId;
    if (venueId) sensors.set(venueId, (sensors.get(venueId) ?? 0) + 1);
  }
  return (venueId, rule) => (rule === 'sensor-silent' ? sensors : instruments).get(venueId) ?? 0;
}
