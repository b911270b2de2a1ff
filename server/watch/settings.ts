/** Settings as they hold for one instrument: organisation, venue, room, instrument; the nearest value counts. */
import {
  contradictions,
  type Scope,
  type SettingName,
  type Settings,
  type SettingsPage,
  settingNames,
  settingTable,
} from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { mustBeKnown } from '../registry/known.ts';
import { allOrganisations } from '../registry/organisations.ts';
import { Contradiction, NotFound, seenBy, type Viewer } from '../registry/viewer.ts';

/** From the widest to the nearest. */
export interface Chain {
  readonly organisation: string;
  readonly venue?: string;
  readonly room?: string;
  readonly instrument?: string;
}

export interface SettingRow {
  readonly scope_id: string;
  readonly name: string;
  readonly value: number;
}

export const usualSettings = Object.fromEntries(
  settingNames.map((name) => [name, settingTable[name].usual]),
) as Settings;

const orderOf = ({ organisation, venue, room, instrument }: Chain): [Scope, string][] => {
  const all: [Scope, string | undefined][] = [
    ['organisation', organisation],
    ['venue', venue],
    ['room', room],
    ['instrument', instrument],
  ];
  return all.flatMap(([scope, id]) => (id === undefined ? [] : [[scope, id]]));
};

/** Many instruments share one chain of values; those without any of their own share one object. */
export function settingsResolver(rows: readonly SettingRow[]): (chain: Chain) => Settings {
  const byScope = new Map<string, SettingRow[]>();
  for (const row of rows) byScope.set(row.scope_id, [...(byScope.get(row.scope_id) ?? []), row]);
  const known = new Map<string, Settings>();
  const isSet = (id: string | undefined): boolean => id !== undefined && byScope.has(id);
  return (chain) => {
    const { organisation, venue, room, instrument } = chain;
    if (!isSet(organisation) && !isSet(venue) && !isSet(room) && !isSet(instrument)) return usualSettings;
    const ids = orderOf(chain)
      .map(([, id]) => id)
      .filter(isSet);
    const key = ids.join(' ');
    const found = known.get(key);
    if (found) return found;
    const settings: Record<string, number> = { ...usualSettings };
    for (const id of ids) for (const { name, value } of byScope.get(id) ?? []) settings[name] = value;
    known.set(key, settings as Settings);
    return settings as Settings;
  };
}

export async function settingRows(db: Database, viewer: Viewer): Promise<(SettingRow & { scope: string })[]> {
  return db
    .selectFrom('setting')
    .$call(seenBy(viewer, 'setting'))
    .select(['scope', 'scope_id', 'name', 'value'])
    .execute();
}

/** The scopes above one, and itself. @throws NotFound where it is not the viewer's */
export async function chainOf(db: Database, viewer: Viewer, scope: Scope, id: string): Promise<Chain> {
  const organisation = viewer.organisationId;
  if (scope === 'organisation') {
    if (id !== organisation) throw new NotFound('scopeId', 'scopeId: no such organisation');
    return { organisation };
  }
  if (scope === 'instrument') {
    const row = await db
      .selectFrom('instrument')
      .$call(seenBy(viewer, 'instrument'))
      .select('room_id')
      .where('id', '=', id)
      .executeTakeFirst();
    if (!row) throw new NotFound('scopeId', 'scopeId: no such instrument');
    return { ...(await chainOf(db, viewer, 'room', row.room_id)), instrument: id };
  }
  if (scope === 'room') {
    const row = await db
      .selectFrom('room')
      .$call(seenBy(viewer, 'room'))
      .select('venue_id')
      .where('id', '=', id)
      .executeTakeFirst();
    if (!row) throw new NotFound('scopeId', 'scopeId: no such room');
    return { organisation, venue: row.venue_id, room: id };
  }
  await mustBeKnown(db, viewer, 'venue', id, 'scopeId');
  return { organisation, venue: id };
}

/** Every setting with the value that holds there and where it comes from. */
export async function settingsAt(
  db: Database,
  viewer: Viewer,
  scope: Scope,
  scopeId: string,
): Promise<SettingsPage> {
  const chain = orderOf(await chainOf(db, viewer, scope, scopeId));
  const rows = await settingRows(db, viewer);
  const settings = settingNames.map((name) => {
    const { usual, ...definition } = settingTable[name];
    let [value, from] = [usual, 'usual'];
    for (const [level, id] of chain) {
      const row = rows.find((one) => one.scope_id === id && one.name === name);
      if (row) [value, from] = [row.value, level === scope ? 'set here' : `from the ${level}`];
    }
    return { name, ...definition, value, from, own: from === 'set here' };
  });
  return { scope, scopeId, settings };
}

/**
 * Sets or takes back values at one scope, all or none.
 * @throws NotFound; Contradiction where an end threshold would come to lie beyond its begin, here or anywhere below
 */
export async function putSettings(
  db: Database,
  viewer: Viewer,
  scope: Scope,
  scopeId: string,
  values: Readonly<Record<string, number | null>>,
): Promise<void> {
  await db.transaction().execute(async (trx) => {
    await chainOf(trx, viewer, scope, scopeId);
    for (const [name, value] of Object.entries(values)) {
      const where = { organisation_id: viewer.organisationId, scope, scope_id: scopeId, name };
      await trx.deleteFrom('setting').where('scope_id', '=', scopeId).where('name', '=', name).execute();
      if (value !== null)
        await trx
          .insertInto('setting')
          .values({ ...where, value })
          .execute();
    }
    const [fault] = await contradictionsIn(trx, viewer);
    if (!fault) return;
    // What is set here can be at odds with what is set farther down: it is said where.
    const below = fault.scopeId === scopeId ? '' : `; a ${fault.scope} below has values of its own`;
    throw new Contradiction(fault.field, `${fault.sentence}${below}`);
  });
}

/** Contradictions at any scope that sets something, with its place. The service does not start with one. */
export async function contradictionsIn(
  db: Database,
  viewer: Viewer,
): Promise<{ field: SettingName; sentence: string; scope: Scope; scopeId: string }[]> {
  const rows = await settingRows(db, viewer);
  const resolve = settingsResolver(rows);
  const places = new Map(rows.map((row) => [row.scope_id, row.scope as Scope]));
  const faults: { field: SettingName; sentence: string; scope: Scope; scopeId: string }[] = [];
  for (const [id, scope] of places) {
    const found = contradictions(resolve(await chainOf(db, viewer, scope, id)));
    faults.push(...found.map((one) => ({ ...one, scope, scopeId: id })));
  }
  return faults;
}

/** Asked at the start. @throws Error with one sentence where settings of any organisation contradict each other */
export async function refuseContradictions(db: Database): Promise<void> {
  for (const viewer of await allOrganisations(db)) {
    const [fault] = await contradictionsIn(db, viewer);
    if (fault) throw new Error(`The settings of the watch contradict each other: ${fault.sentence}.`);
  }
}
