/**
 * decode -> check -> store -> answer. Whoever called acknowledges only when the answer has come: by then every good
 * reading is stored and everything else set aside, both durably. A failing store gives no answer but an error.
 */
import { checkRange } from './checks/range.ts';
import { checkTime } from './checks/time.ts';
import { decode } from './decode/decode.ts';
import type { Precision } from './decode/line-protocol.ts';
import type { Trace } from './decode/mapped.ts';
import type { Decoded, Refusal } from './decode/pack.ts';
import { sensorNamed } from './decode/sensor-name.ts';
import { type Gateway, type RefusalReason, type Refused, refusalReasons, type SetAside } from './gateways.ts';
import { grouped } from './group.ts';
import { type Log, silent } from './log.ts';
import { quantities, type Reading } from './reading.ts';
import type { TimeSeries } from './store/time-series.ts';

export interface Message {
  readonly gateway: Gateway;
  /** MQTT topic, or the path of the request. */
  readonly topic: string;
  readonly payload: Uint8Array;
  readonly receivedMs: number;
  /** It is read again, at this time: what was ahead of a clock that stood wrong need not be so for ever. */
  readonly againMs?: number | undefined;
  /** It came where line protocol comes, with times of this precision. */
  readonly lines?: Precision | undefined;
}

export interface RefusedRecords extends Refusal {
  /** How many records share the reason; `sentence` tells of the first. */
  readonly records: number;
}

export interface Outcome {
  /** Values (not records) that are new, that were there, that contradict what is there. */
  readonly stored: number;
  readonly duplicates: number;
  readonly conflicts: number;
  readonly refused: readonly RefusedRecords[];
}

/** Counts since the start. `values` = stored + duplicates + conflicts + failed, once nothing is on its way. */
export interface Tally {
  /** Messages and requests that came in. */
  readonly received: number;
  readonly values: number;
  readonly stored: number;
  readonly duplicates: number;
  readonly conflicts: number;
  /** Values that were not acknowledged because the store failed; their sender will send them again. */
  readonly failed: number;
  /** Records of quantities that are not kept here. */
  readonly skipped: number;
  readonly refused: Readonly<Record<RefusalReason, number>>;
}

export interface Pipeline {
  /** Resolves after the commit; rejects when the store failed, and then nothing may be acknowledged. */
  accept(message: Message): Promise<Outcome>;
  /** Readings that came without a message, such as those of a file. They are checked; refusals are told, not kept. */
  acceptReadings(readings: readonly Reading[], nowMs?: number): Promise<Outcome>;
  /** Counts a refusal; resolves when it is set aside. Attempts that carry no readings are kept once a minute each. */
  refuse(setAside: SetAside): Promise<void>;
  tally(): Tally;
  /** Resolves when everything accepted so far has its answer. */
  stop(): Promise<void>;
}

export interface PipelineParts {
  readonly store: TimeSeries;
  readonly refused: Refused;
  readonly now?: () => number;
  readonly log?: Log;
  /** Told of the good readings of each message as it comes; must not wait or throw. */
  readonly heard?: (gateway: Gateway, readings: readonly Reading[], receivedMs: number) => void;
}

/** These carry no reading that could be lost, and anybody can cause them by the thousand. */
const attempts: ReadonlySet<RefusalReason> = new Set([
  'wrong-password',
  'subscribe',
  'will',
  'retain',
  'too-large',
  'other-protocol',
]);
const attemptsKeptEveryMs = 60_000;
const attemptsRemembered = 1_000;

/** Addresses of requests, which name nobody. */
const isAddress = (topic: string): boolean => /^\/(?:api\/readings\/?$|(?:api\/v2\/)?write\?)/.test(topic);

/**
 * Of a message that does not name its sensor: its topic, so that devices on topics of their own stay apart
 * (kitchen/desk of readings/kitchen/desk); the gateway's name where the topic says no more.
 */
function bareNameOf(topic: string, gateway: Gateway): string {
  if (isAddress(topic)) return gateway.name;
  return sensorNamed(topic.replace(/^readings\//, '').replace(/^\/+/, '')) ?? gateway.name;
}

/** What a message says, before anything is done about it. Pure. `trace` is told of the places looked at. */
export function decodeMessage(
  { gateway, topic, payload, receivedMs, againMs, lines }: Message,
  trace?: Trace,
): Decoded {
  const bareName = bareNameOf(topic, gateway);
  const origin = { organisation: gateway.organisation, bareName, nowMs: receivedMs, clockMs: againMs };
  return decode({ topic, payload, lines }, gateway, origin, trace);
}

const valuesIn = (readings: readonly Reading[]): number =>
  readings.reduce(
    (sum, reading) => sum + quantities.filter((quantity) => reading[quantity] !== undefined).length,
    0,
  );

/** What the store made of readings, and what it will never keep. */
interface Kept {
  readonly stored: number;
  readonly duplicates: number;
  readonly conflicts: number;
  readonly refusals: readonly RefusedRecords[];
}
const nothingKept: Kept = { stored: 0, duplicates: 0, conflicts: 0, refusals: [] };

const outcomeOf = ({ refusals, ...counts }: Kept, before: readonly RefusedRecords[]): Outcome => ({
  ...counts,
  refused: [...before, ...refusals],
});

function byReason(refusals: readonly Refusal[]): RefusedRecords[] {
  const groups = new Map<RefusalReason, RefusedRecords>();
  for (const { reason, sentence } of refusals) {
    const before = groups.get(reason);
    groups.set(
      reason,
      before ? { ...before, records: before.records + 1 } : { reason, sentence, records: 1 },
    );
  }
  return [...groups.values()];
}

const told = ({ sentence, records }: RefusedRecords): string =>
  records === 1 ? sentence : `${sentence} ${records - 1} more of this kind.`;

function checkReading(reading: Reading, nowMs: number): Reading | Refusal {
  const outOfTime = checkTime(reading.timeMs, nowMs);
  if (outOfTime) return { reason: outOfTime.reason, sentence: `${reading.sensor}: ${outOfTime.sentence}.` };
  const checked: { -readonly [key in keyof Reading]: Reading[key] } = { ...reading };
  for (const quantity of quantities) {
    const value = reading[quantity];
    if (value === undefined) continue;
    const inRange = checkRange(quantity, value);
    if ('sentence' in inRange)
      return { reason: 'out-of-range', sentence: `${reading.sensor}: ${inRange.sentence}.` };
    checked[quantity] = inRange.value;
  }
  return checked;
}

export function createPipeline({
  store,
  refused,
  now = Date.now,
  log = silent,
  heard,
}: PipelineParts): Pipeline {
  const counts = { received: 0, values: 0, stored: 0, duplicates: 0, conflicts: 0, failed: 0, skipped: 0 };
  const refusedCounts = Object.fromEntries(refusalReasons.map((reason) => [reason, 0])) as Record<
    RefusalReason,
    number
  >;
  const attemptsKeptMs = new Map<string, number>();
  const onTheirWay = new Set<Promise<unknown>>();

  const settingAside = grouped<readonly SetAside[], true>(
    { mostWeight: 1_000, longestMs: 5, weigh: (batch) => batch.length },
    async (batches) => {
      await refused.setAside(batches.flat());
      return batches.map((): true => true);
    },
  );

  function track<Result>(work: Promise<Result>): Promise<Result> {
    onTheirWay.add(work);
    const forget = (): boolean => onTheirWay.delete(work);
    work.then(forget, forget);
    return work;
  }

  async function keep(readings: readonly Reading[]): Promise<Kept> {
    const values = valuesIn(readings);
    counts.values += values;
    try {
      const { stored, duplicates, conflicts, refused: away = [] } = await store.append(readings);
      counts.stored += stored;
      counts.duplicates += duplicates;
      counts.conflicts += conflicts;
      // They are refusals now, as if a check had found them.
      counts.values -= valuesIn(away.map(({ reading }) => reading));
      const bad = away.map(
        ({ reading, sentence }): Refusal => ({
          reason: 'beyond-retention',
          sentence: `${reading.sensor}: ${sentence}.`,
        }),
      );
      return { stored, duplicates, conflicts, refusals: count(bad) };
    } catch (error) {
      counts.failed += values;
      log.error({ err: error, values }, 'readings could not be stored; their sender is not answered');
      throw error;
    }
  }

  function count(refusals: readonly Refusal[]): RefusedRecords[] {
    for (const { reason } of refusals) refusedCounts[reason] += 1;
    return byReason(refusals);
  }

  async function accept({ gateway, topic, payload, receivedMs, lines }: Message): Promise<Outcome> {
    counts.received += 1;
    const decoded = decodeMessage({ gateway, topic, payload, receivedMs, lines });
    counts.skipped += decoded.skipped;
    heard?.(gateway, decoded.readings, receivedMs);
    const setAside = (refusals: readonly RefusedRecords[]): Promise<unknown> | undefined =>
      refusals.length > 0
        ? settingAside.add(
            refusals.map((refusal) => ({
              organisation: gateway.organisation,
              gateway: gateway.id,
              receivedMs,
              topic,
              reason: refusal.reason,
              sentence: told(refusal),
              payload,
            })),
          )
        : undefined;
    const refusals = count(decoded.refused);
    const storing = decoded.readings.length > 0 ? keep(decoded.readings) : nothingKept;
    const [kept] = await Promise.all([storing, setAside(refusals)]);
    await setAside(kept.refusals);
    return outcomeOf(kept, refusals);
  }

  async function acceptReadings(readings: readonly Reading[], nowMs: number): Promise<Outcome> {
    const good: Reading[] = [];
    const bad: Refusal[] = [];
    for (const reading of readings) {
      const checked = checkReading(reading, nowMs);
      if ('reason' in checked) bad.push(checked);
      else good.push(checked);
    }
    const refusals = count(bad);
    return outcomeOf(good.length > 0 ? await keep(good) : nothingKept, refusals);
  }

  async function refuse(setAside: SetAside): Promise<void> {
    refusedCounts[setAside.reason] += 1;
    if (attempts.has(setAside.reason)) {
      const key = JSON.stringify([setAside.reason, setAside.gateway, setAside.topic]);
      const keptMs = attemptsKeptMs.get(key);
      if (keptMs !== undefined && now() - keptMs < attemptsKeptEveryMs) return;
      if (attemptsKeptMs.size >= attemptsRemembered) attemptsKeptMs.clear();
      attemptsKeptMs.set(key, now());
    }
    await settingAside.add([setAside]);
  }

  return {
    accept: (message) => track(accept(message)),
    acceptReadings: (readings, nowMs = now()) => track(acceptReadings(readings, nowMs)),
    refuse: (setAside) => track(refuse(setAside)),
    tally: () => ({ ...counts, refused: { ...refusedCounts } }),
    async stop() {
      while (onTheirWay.size > 0) await Promise.allSettled(onTheirWay);
    },
  };
}
