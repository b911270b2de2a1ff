/**
 * kill -9 of the real service while it evaluates and while it delivers, again and again on one data folder, with a real
 * mail server and a real webhook. Afterwards every notice is there once, everybody was told once, the delivery log has
 * no gap, and only what a kill cut off has gone out more than once, under the same id, and the log says so.
 */
import Database from 'better-sqlite3';
import { expect, test } from 'vitest';
import { addDampHouse, dampRules, houseAddress, pianosAHouse } from '../support/damp-house.ts';
import { type MailBox, openMailBox } from '../support/mail-box.ts';
import { eventually, type RunningService, startService, temporaryFolder } from '../support/service.ts';
import { openWebhook, type Webhook } from '../support/webhook.ts';
import { tellFault } from './shelf.ts';

/** The full count by `npm run soak`, or WATCH_KILLS of them. */
const kills = Number(process.env.WATCH_KILLS ?? (process.env.CROWNWATCH_FULL ? 50 : 7));
interface Scene {
  readonly records: Database.Database;
  readonly box: MailBox;
  readonly hook: Webhook;
  /** It is about to be started: the moment may come before anybody hears that it listens. */
  readonly service: Promise<RunningService>;
}

const count = (records: Database.Database, table: 'notice' | 'outgoing', where = 'true'): number =>
  Number(records.prepare(`select count(*) as n from ${table} where ${where}`).pluck().get());

const killOf = async (service: Promise<RunningService>): Promise<unknown> => (await service).kill('SIGKILL');

/** Moments of a kill, waited for from before the start: each resolves at once after the kill, in the midst of what it names. */
const moments: readonly { readonly name: string; kill(scene: Scene, round: number): Promise<unknown> }[] = [
  {
    name: 'while the first readings are judged',
    // Some moment of the evaluation, another each time: a kill needs no reason.
    async kill({ service }, round) {
      await service;
      await new Promise((resolve) => setTimeout(resolve, (round * 53) % 300));
      return killOf(service);
    },
  },
  {
    name: 'when the first new notice was written',
    async kill({ records, service }) {
      const before = count(records, 'notice');
      await tightly('a notice', () => count(records, 'notice') > before);
      return killOf(service);
    },
  },
  {
    name: 'when the first new message was written',
    async kill({ records, service }) {
      const before = count(records, 'outgoing');
      await tightly('a message', () => count(records, 'outgoing') > before);
      return killOf(service);
    },
  },
  {
    name: 'when the mail server was given the recipient',
    kill: ({ box, service }) =>
      once((done) => {
        box.before.recipient = () => done(killOf(service));
      }),
  },
  {
    name: 'when the mail was taken, but the service not told so',
    kill: ({ box, service }) =>
      once((done) => {
        box.before.answer = () => done(killOf(service));
      }),
  },
  {
    name: 'as the service was told that the mail was taken',
    kill: ({ box, service }) =>
      once((done) => {
        box.after.answer = () => done(killOf(service));
      }),
  },
  {
    name: 'when the webhook was given the message, but had not answered',
    kill: ({ hook, service }) =>
      once((done) => {
        hook.before.answer = () => done(killOf(service));
      }),
  },
];

/** Asks as fast as others are let through: a commit is to be caught, not waited for. */
async function tightly(what: string, is: () => boolean): Promise<void> {
  const endMs = Date.now() + 120_000;
  while (!is()) {
    if (Date.now() > endMs) throw new Error(`${what}: not within 120 s`);
    await new Promise((resolve) => setImmediate(resolve));
  }
}

async function once(arm: (done: (killed: Promise<unknown>) => Promise<unknown>) => void): Promise<unknown> {
  let first = true;
  return new Promise((resolve) =>
    arm(async (killed) => {
      if (!first) return;
      first = false;
      await killed;
      resolve(killed);
    }),
  );
}

interface Logged {
  readonly outgoing_id: string;
  readonly kind: string;
  readonly sentence: string;
}

test(`${kills} kills of the watch lose no notice, repeat none, and leave no gap in the delivery log`, {
  timeout: 480_000 + kills * 60_000,
}, async () => {
  const folder = temporaryFolder();
  const box = await openMailBox();
  const hook = await openWebhook();
  const env = { SMTP_URL: box.url, MAIL_FROM: 'crownwatch@workshop.example', WEBHOOKS_TO_PRIVATE: 'yes' };
  try {
    for (let kill = 0; kill < kills; kill += 1) {
      await addDampHouse(folder.path, kill, hook.url);
      const records = new Database(`${folder.path}/records.db`, { readonly: true });
      const service = startService(folder.path, env);
      // One that does not start ends the wait for a moment that cannot come.
      await Promise.all([
        service,
        moments[kill % moments.length]?.kill({ records, box, hook, service }, kill),
      ]);
      box.before = {};
      box.after = {};
      hook.before = {};
      records.close();
    }

    const service = await startService(folder.path, env);
    const records = new Database(`${folder.path}/records.db`, { readonly: true });
    const standing = () => ({
      notices: count(records, 'notice', 'part_of is null'),
      mails: count(records, 'outgoing', "channel = 'email'"),
      hooks: count(records, 'outgoing', "channel = 'webhook'"),
      unsent: records
        .prepare(
          "select channel || ' ' || state || ' ' || attempts || ' ' || coalesce(last_error, '') from outgoing where state <> 'sent'",
        )
        .pluck()
        .all(),
    });
    const whole = {
      notices: kills * dampRules.length,
      mails: kills,
      hooks: kills * dampRules.length,
      unsent: [],
    };
    await eventually(
      'everything told and on its way',
      async () => JSON.stringify(standing()) === JSON.stringify(whole),
      // A fleet is looked at as a whole after a start; what a machine under load had no patience for is tried after one minute, then after five.
      400_000 + kills * 4_000,
    ).catch(() => undefined);
    expect(standing()).toEqual(whole);
    await service.kill('SIGTERM');

    // Notices: one of each house and rule, with one of each piano under it; each began once.
    const notices = records.prepare('select id, rule, place, part_of, state from notice').all() as {
      id: string;
      rule: string;
      place: string;
      part_of: string | null;
      state: string;
    }[];
    const named = notices.map((one) => `${one.rule} ${one.place}`);
    expect(new Set(named).size).toBe(named.length);
    expect(notices.filter((one) => one.part_of === null)).toHaveLength(kills * dampRules.length);
    expect(notices).toHaveLength(kills * dampRules.length * (1 + pianosAHouse));
    const begins = records.prepare("select notice_id from notice_event where kind = 'begins'").pluck().all();
    expect([...begins].sort()).toEqual(notices.map((one) => one.id).sort());

    // The delivery log: of each message made once, every attempt with its outcome, and sent once, at the end.
    const log = records
      .prepare('select outgoing_id, kind, sentence from delivery where outgoing_id is not null order by seq')
      .all() as Logged[];
    const ids = records.prepare('select id from outgoing').pluck().all() as string[];
    const attempted = new Map<string, number>();
    let cutOff = 0;
    for (const id of ids) {
      const own = log.filter((one) => one.outgoing_id === id);
      const story = own.map((one) => one.kind).join(', ');
      // A slow machine may run out of patience with its own mail server: that is an outcome too.
      expect(story).toMatch(/^made(, attempt, (cut off|failed))*, attempt, sent$/);
      const attempts = own.filter((one) => one.kind === 'attempt').map((one) => one.sentence);
      expect(attempts).toEqual(attempts.map((_, i) => `attempt ${i + 1}`));
      const cuts = own.filter((one) => one.kind === 'cut off');
      for (const one of cuts) expect(one.sentence).toContain('goes out once more under the same id');
      cutOff += cuts.length;
      attempted.set(id, attempts.length);
    }
    expect(log.map((one) => one.outgoing_id).every((id) => ids.includes(id))).toBe(true);

    // What arrived: every message, the same each time, and again only where the log says that an attempt was cut off or failed.
    const mails = box.mails.map((mail) => ({
      id: /^<(.+)@workshop\.example>$/.exec(mail.messageId ?? '')?.[1] ?? '',
      to: [mail.to].flat()[0]?.value[0]?.address,
      text: mail.text ?? '',
    }));
    const arrived = [...mails.map((one) => one.id), ...hook.got.map((one) => one.id)];
    expect(new Set(arrived)).toEqual(new Set(ids));
    const times = (id: string) => arrived.filter((one) => one === id).length;
    const doubled = ids.filter((id) => times(id) > (attempted.get(id) ?? 0)).length;
    for (const one of mails) expect(mails.find((other) => other.id === one.id)?.text).toBe(one.text);
    for (let house = 0; house < kills; house += 1) {
      const own = mails.filter((one) => one.to === houseAddress(house));
      expect(new Set(own.map((one) => one.id)).size).toBe(1);
      expect(own[0]?.text.match(/From|At 4 of 4 pianos/g)?.length).toBe(dampRules.length);
    }
    const stored = new Set(arrived).size;
    tellFault(
      `kill -9 of the watch, ${kills} times`,
      { sent: ids.length, acknowledged: ids.length, stored, lost: ids.length - stored, doubled },
      `${notices.length} notices; ${cutOff} sendings cut off, ${arrived.length - stored} arrived once more, under the same id`,
    );
    records.close();
  } finally {
    await box.stop();
    await hook.stop();
    folder.remove();
  }
});
