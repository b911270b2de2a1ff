/** Gateways and their credentials. Secrets are 24 random bytes, so a plain SHA-256 of them is hash enough. */
import { createHash, randomBytes, randomUUID, timingSafeEqual } from 'node:crypto';
import { type Gateway, type Gateways, type Profile, readProfile } from '../../ingest/index.ts';
import type { Database } from '../db/database.ts';
import { Contradiction, type Viewer } from './viewer.ts';

const sha256 = (secret: string): string => createHash('sha256').update(secret).digest('hex');
const newSecret = (): string => randomBytes(24).toString('base64url');

/** Names are one MQTT topic level, so that `readings/{name}` belongs to one gateway alone. */
const allowedName = /^[A-Za-z0-9][A-Za-z0-9_.-]{0,63}$/;

export interface Credentials {
  readonly user: string;
  readonly password: string;
  readonly token: string;
}

/**
 * Makes a gateway and tells its secrets, which are kept only as hashes and cannot be shown again.
 * @throws Contradiction where the name is taken or not one topic level.
 */
export async function addGateway(
  db: Database,
  viewer: Viewer,
  name: string,
  nowMs: number,
): Promise<Credentials> {
  if (!allowedName.test(name)) {
    throw new Contradiction(
      'name',
      `name: "${name}" must begin with a letter or digit and hold only letters, digits, "_", "." and "-" (64 at most)`,
    );
  }
  const taken = await db.selectFrom('gateway').select('id').where('name', '=', name).executeTakeFirst();
  if (taken) throw new Contradiction('name', `name: a gateway named "${name}" exists already`);
  const credentials = { user: name, password: newSecret(), token: newSecret() };
  await db
    .insertInto('gateway')
    .values({
      id: randomUUID(),
      organisation_id: viewer.organisationId,
      name,
      password_hash: sha256(credentials.password),
      token_hash: sha256(credentials.token),
      created_ms: nowMs,
      profile: null,
    })
    .execute();
  return credentials;
}

/**
 * Says how a gateway's payloads are read from now on.
 * @param profile null: SenML
 * @throws Contradiction where there is no such gateway
 */
export async function setProfile(
  db: Database,
  viewer: Viewer,
  name: string,
  profile: Profile | null,
): Promise<void> {
  const { numUpdatedRows } = await db
    .updateTable('gateway')
    .set({ profile: profile && JSON.stringify(profile) })
    .where('organisation_id', '=', viewer.organisationId)
    .where('name', '=', name)
    .executeTakeFirst();
  if (numUpdatedRows === 0n) throw new Contradiction('name', `name: there is no gateway named "${name}"`);
}

/**
 * Makes new secrets; the old ones open nothing any more, and connections that came in by them end with their next message.
 * @throws Contradiction where there is no such gateway
 */
export async function renewSecrets(
  db: Database,
  viewer: Viewer,
  name: string,
  nowMs: number,
): Promise<Credentials> {
  const credentials = { user: name, password: newSecret(), token: newSecret() };
  const { numUpdatedRows } = await db
    .updateTable('gateway')
    .set({
      password_hash: sha256(credentials.password),
      token_hash: sha256(credentials.token),
      created_ms: nowMs,
    })
    .where('organisation_id', '=', viewer.organisationId)
    .where('name', '=', name)
    .executeTakeFirst();
  if (numUpdatedRows === 0n) throw new Contradiction('name', `name: there is no gateway named "${name}"`);
  return credentials;
}

/**
 * Takes a gateway away. Its sensors and their readings stay, and so does what was set aside of it.
 * @throws Contradiction where there is no such gateway
 */
export async function removeGateway(db: Database, viewer: Viewer, name: string): Promise<void> {
  await db.transaction().execute(async (tx) => {
    const row = await tx
      .selectFrom('gateway')
      .select('id')
      .where('organisation_id', '=', viewer.organisationId)
      .where('name', '=', name)
      .executeTakeFirst();
    if (!row) throw new Contradiction('name', `name: there is no gateway named "${name}"`);
    await tx.deleteFrom('heard_by').where('gateway_id', '=', row.id).execute();
    await tx.deleteFrom('gateway').where('id', '=', row.id).execute();
  });
}

interface GatewayRow {
  readonly id: string;
  readonly organisation: string;
  readonly name: string;
  readonly created_ms: number;
  readonly profile: string | null;
}

/** Profiles are text and change seldom; each is looked at once. */
const profiles = new Map<string, Profile>();
export function profileOf(text: string): Profile {
  const known = profiles.get(text);
  if (known) return known;
  const profile = readProfile(JSON.parse(text));
  if (profiles.size > 1_000) profiles.clear();
  profiles.set(text, profile);
  return profile;
}

const gatewayOf = ({ id, organisation, name, created_ms, profile }: GatewayRow): Gateway => ({
  ...{ id, organisation, name, secretsMs: created_ms },
  ...(profile === null ? {} : { profile: profileOf(profile) }),
});

/** The port ingest asks who may publish. Read afresh each time, so that a new gateway needs no restart. */
export function gatewaysOf(db: Database): Gateways {
  const columns = [
    'id',
    'organisation_id as organisation',
    'name',
    'password_hash',
    'created_ms',
    'profile',
  ] as const;
  return {
    async byPassword(name, password): Promise<Gateway | null> {
      const row = await db.selectFrom('gateway').select(columns).where('name', '=', name).executeTakeFirst();
      // Compare even where the name is unknown, so that time does not tell which names exist.
      const kept = Buffer.from(row?.password_hash ?? sha256(''), 'hex');
      const given = Buffer.from(sha256(password), 'hex');
      if (!timingSafeEqual(kept, given) || !row) return null;
      return gatewayOf(row);
    },
    async byToken(token): Promise<Gateway | null> {
      const row = await db
        .selectFrom('gateway')
        .select(columns)
        .where('token_hash', '=', sha256(token))
        .executeTakeFirst();
      return row ? gatewayOf(row) : null;
    },
    async byName(name): Promise<Gateway | null> {
      const row = await db.selectFrom('gateway').select(columns).where('name', '=', name).executeTakeFirst();
      return row ? gatewayOf(row) : null;
    },
  };
}
