/**
 * By which gateway each sensor was heard, how often, and how old its newest reading was at best: what tells of clocks
 * that stand wrong and of names used twice. A worker that collects alone gathers it and reports it to the service, which
 * notes the same of what it collects itself.
 */
import type { Gateway } from './gateways.ts';
import { type Log, silent } from './log.ts';
import type { Reading } from './reading.ts';

export interface Heard {
  /** The gateway's id; whose it is, whoever knows the gateways knows. */
  readonly gateway: string;
  readonly sensor: string;
  readonly firstMs: number;
  readonly lastMs: number;
  readonly messages: number;
  /** Least age of its newest reading on arrival; below zero where its clock is ahead. */
  readonly leastAgeMs: number;
}

/** What one message says of each sensor in it. */
export function heardIn(gateway: Gateway, readings: readonly Reading[], receivedMs: number): Heard[] {
  const newest = new Map<string, number>();
  for (const { sensor, timeMs } of readings)
    newest.set(sensor, Math.max(newest.get(sensor) ?? timeMs, timeMs));
  return [...newest].map(([sensor, timeMs]) => ({
    ...{ gateway: gateway.id, sensor, firstMs: receivedMs, lastMs: receivedMs, messages: 1 },
    leastAgeMs: receivedMs - timeMs,
  }));
}

const together = (one: Heard, other: Heard): Heard => ({
  ...one,
  firstMs: Math.min(one.firstMs, other.firstMs),
  lastMs: Math.max(one.lastMs, other.lastMs),
  messages: one.messages + other.messages,
  leastAgeMs: Math.min(one.leastAgeMs, other.leastAgeMs),
});

export interface Hearsay {
  /** Keeps no one waiting. */
  heard(gateway: Gateway, readings: readonly Reading[], receivedMs: number): void;
  /** Reports what is left, if it can be. */
  stop(): Promise<void>;
}

/** Sensors between two reports; more wait for their next message. */
const most = 20_000;

/** Gathers and reports every so often; what could not be reported goes with the next. */
export function gatherHeard(
  report: (batch: readonly Heard[]) => Promise<void>,
  everyMs: number,
  log: Log = silent,
): Hearsay {
  let gathered = new Map<string, Heard>();
  let reporting = Promise.resolve();

  function add(one: Heard): void {
    const key = `${one.gateway} ${one.sensor}`;
    const known = gathered.get(key);
    if (known) gathered.set(key, together(known, one));
    else if (gathered.size < most) gathered.set(key, one);
  }
  async function reportAll(): Promise<void> {
    const batch = [...gathered.values()];
    if (batch.length === 0) return;
    gathered = new Map();
    try {
      await report(batch);
    } catch (error) {
      for (const one of batch) add(one);
      log.warn({ err: error }, 'which sensors were heard could not be reported; it is tried again');
    }
  }
  const inTurn = (): Promise<void> => {
    reporting = reporting.then(reportAll);
    return reporting;
  };
  const timer = setInterval(inTurn, everyMs).unref();
  return {
    heard(gateway, readings, receivedMs) {
      for (const one of heardIn(gateway, readings, receivedMs)) add(one);
    },
    stop() {
      clearInterval(timer);
      return inTurn();
    },
  };
}
