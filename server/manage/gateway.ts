import { readFileSync } from 'node:fs';
import {
  createPipeline,
  decodeMessage,
  type Gateway,
  type Profile,
  readProfile,
} from '../../ingest/index.ts';
import {
  addGateway,
  type Credentials,
  gatewaysOf,
  removeGateway,
  renewSecrets,
  setProfile,
} from '../registry/gateways.ts';
import { firstOrganisation } from '../registry/organisations.ts';
import { refusedOf } from '../registry/refused.ts';
import { replayRefused } from '../registry/replay.ts';
import type { Command } from './command.ts';

const say = (text: string): void => void process.stdout.write(`${text}\n`);

const tell = ({ user, password, token }: Credentials): void =>
  say(`user: ${user}\npassword: ${password}\ntoken: ${token}`);

/** @throws Error with one sentence */
function profileIn(file: string): Profile {
  let text: string;
  try {
    text = readFileSync(file, 'utf8');
  } catch {
    throw new Error(`The file ${file} cannot be read.`);
  }
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    throw new Error(`The file ${file} is not JSON.`);
  }
  return readProfile(value);
}

/**
 * add, renew: print the credentials once, each on a line `name: value`; only hashes are kept. remove: lets it in no more.
 * profile: says how payloads are read; try: shows what a payload would give; replay: reads what was set aside again.
 */
export const gateway: Command = async ({ db, store }, [verb, name, file], options) => {
  const viewer = await firstOrganisation(db, Date.now());
  async function known(): Promise<Gateway> {
    const found = await gatewaysOf(db).byName(name ?? '');
    if (found?.organisation !== viewer.organisationId)
      throw new Error(`There is no gateway named "${name}".`);
    return found;
  }
  if (verb === 'add' && name) {
    return tell(await addGateway(db, viewer, name, Date.now()));
  }
  if (verb === 'renew' && name) return tell(await renewSecrets(db, viewer, name, Date.now()));
  if (verb === 'remove' && name) {
    await removeGateway(db, viewer, name);
    return say(`${name} is let in no more. Its sensors and their readings stay.`);
  }
  if (verb === 'profile' && name && file) {
    const profile = file === 'senml' ? null : profileIn(file);
    await setProfile(db, viewer, name, profile);
    return say(`The payloads of ${name} are read as ${profile?.kind ?? 'senml'}.`);
  }
  if (verb === 'try' && name && file) {
    const found = await known();
    const profile = options.profile ? profileIn(options.profile) : found.profile;
    const topic = options.topic ?? `readings/${name}`;
    const message = { topic, payload: readFileSync(file), receivedMs: Date.now() };
    return say(JSON.stringify(decodeMessage({ gateway: { ...found, profile }, ...message }), null, 2));
  }
  if (verb === 'replay' && name) {
    const pipeline = createPipeline({ store, refused: refusedOf(db) });
    const { read, left, stored, duplicates, sentence } = await replayRefused(db, await known(), pipeline);
    await pipeline.stop();
    say(
      `${read} messages read: ${stored} values stored, ${duplicates} were there already; ${left} stay set aside.`,
    );
    if (sentence) say(`The first of those: ${sentence}`);
    return;
  }
  throw new Error(
    'Say which: gateway add NAME, renew NAME, remove NAME, profile NAME FILE, try NAME FILE, or replay NAME',
  );
};
