/**
 * Sums that take longer than a request may hold the process. The service hands them to a thread of its own; whoever
 * does not mind waiting does them in place. Plain data in, plain data out.
 */
import { Worker } from 'node:worker_threads';
import {
  type BestDates,
  type BestDatesInput,
  bestDates,
  eventUnsteadiness,
  type Forecast,
  type ForecastInput,
  forecastPaths,
  type LookBackOptions,
  type LookedBack,
  lookFurther,
  type PastInterval,
  summarise,
  type TuningDecision,
  tuningDecision,
  type WaitAdvice,
  type WhatIf,
  type WhatIfInput,
  waitAdvice,
  whatIf,
} from '../science/drift/index.ts';

/** What the coming days bring, whether it asks for a tuning, and whether it is wiser to wait. */
export interface Foretold {
  readonly forecast: Forecast;
  readonly decision: TuningDecision;
  readonly wait: WaitAdvice;
  readonly events: readonly { readonly eventId: string; readonly unsteadyByLeadDays: number[] }[];
}

/** A concert that uses the instrument. */
export interface ComingEvent {
  readonly id: string;
  readonly startMs: number;
}

/** Days between tuning and event for which it is said whether a tuning holds: as many as the settings allow. */
const leadDays = Array.from({ length: 15 }, (_, lead) => lead);

export interface Thinking {
  /** @param events ascending; never waited past the first */
  foretell(input: ForecastInput, events: readonly ComingEvent[]): Promise<Foretold>;
  bestDates(input: BestDatesInput): Promise<BestDates>;
  whatIf(input: WhatIfInput): Promise<WhatIf>;
  /** @param before how far it had come when the last of the intervals had not ended; null: from the beginning */
  lookBack(
    intervals: readonly PastInterval[],
    options: LookBackOptions,
    before: LookedBack | null,
  ): Promise<LookedBack>;
  stop(): Promise<void>;
}

function foretell(input: ForecastInput, events: readonly ComingEvent[]): Foretold {
  const paths = forecastPaths(input);
  return {
    forecast: summarise(paths, input),
    decision: tuningDecision(paths),
    wait: waitAdvice(input, events[0]?.startMs ?? null, paths),
    events: events.flatMap(({ id, startMs }) => {
      const unsteadyByLeadDays = eventUnsteadiness(input, paths, startMs, leadDays);
      return unsteadyByLeadDays ? [{ eventId: id, unsteadyByLeadDays }] : [];
    }),
  };
}

export const inPlace: Thinking = {
  foretell: async (input, events) => foretell(input, events),
  bestDates: async (input) => bestDates(input),
  whatIf: async (input) => whatIf(input),
  lookBack: async (intervals, options, before) => lookFurther(intervals, options, before),
  stop: async () => undefined,
};

export interface Question {
  readonly id: number;
  readonly ask: Exclude<keyof Thinking, 'stop'>;
  readonly given: readonly unknown[];
}
export type Reply = { readonly id: number } & ({ readonly answer: unknown } | { readonly failed: string });

type Put = (ask: Question['ask'], given: readonly unknown[]) => Promise<unknown>;

/**
 * A thread that answers one question after the other. It is started with the first question.
 * @param lasts whether it waits for another; else it ends, and its memory is free
 */
function thread(lasts: boolean): { put: Put; stop(): Promise<void> } {
  let worker: Worker | null = null;
  let last = 0;
  const waiting = new Map<number, { resolve(answer: unknown): void; reject(error: Error): void }>();

  function begin(): Worker {
    const begun = new Worker(new URL('./thinking-thread.js', import.meta.url));
    begun.on('message', (reply: Reply) => {
      const asker = waiting.get(reply.id);
      waiting.delete(reply.id);
      if ('failed' in reply) asker?.reject(new Error(reply.failed));
      else asker?.resolve(reply.answer);
      if (lasts || waiting.size > 0) return;
      worker = null;
      void begun.terminate();
    });
    const lost = (error: Error) => {
      // One that was ended on purpose may have a successor already.
      if (worker !== begun) return;
      worker = null;
      for (const asker of waiting.values()) asker.reject(error);
      waiting.clear();
    };
    begun.on('error', lost);
    begun.on('exit', (code) => lost(new Error(`the thread for long sums ended with ${code}`)));
    // A question under way does not keep a stopping service alive.
    begun.unref();
    return begun;
  }

  const put: Put = (ask, given) => {
    worker ??= begin();
    last += 1;
    const question: Question = { id: last, ask, given };
    return new Promise((resolve, reject) => {
      waiting.set(question.id, { resolve, reject });
      worker?.postMessage(question);
    });
  };

  return {
    put,
    async stop() {
      await worker?.terminate();
    },
  };
}

/** Looking back over a large fleet takes many seconds: it has a thread of its own, so that no forecast waits for it. */
export function inThread(): Thinking {
  const [ahead, back] = [thread(true), thread(false)];
  return {
    foretell: (input, events) => ahead.put('foretell', [input, events]) as Promise<Foretold>,
    bestDates: (input) => ahead.put('bestDates', [input]) as Promise<BestDates>,
    whatIf: (input) => ahead.put('whatIf', [input]) as Promise<WhatIf>,
    lookBack: (...given) => back.put('lookBack', given) as Promise<LookedBack>,
    async stop() {
      await Promise.all([ahead.stop(), back.stop()]);
    },
  };
}
