/**
 * What a worker that collects alone asks of the service over HTTP: who a gateway is, to keep what was set aside, to note
 * which sensors it heard, and whether it is its turn to watch the broker.
 */
import { readProfile } from './decode/profile.ts';
import type { Gateway, Gateways, Refused } from './gateways.ts';
import type { Heard } from './heard.ts';
import type { Memory } from './sources/memory.ts';

export interface WorkerService {
  readonly gateways: Pick<Gateways, 'byName'>;
  readonly refused: Refused;
  readonly memory: Memory;
  report(batch: readonly Heard[]): Promise<void>;
  /** @param worker its client id at the broker */
  isTurnOf(worker: string): Promise<boolean>;
  /** Resolves when the service knows the token. @throws Error with one sentence */
  greet(): Promise<void>;
}

const answerWithinMs = 20_000;
/** Of payloads to a request, so that it stays below what the service takes. */
const bytesAtOnce = 500_000;
/** Sensors heard, to a request. */
const heardAtOnce = 1_000;

const isText = (value: unknown): value is string => typeof value === 'string';

function gatewayOf(answer: unknown): Gateway | null {
  if (answer === null) return null;
  if (typeof answer === 'object' && 'id' in answer && 'organisation' in answer && 'name' in answer) {
    const { id, organisation, name } = answer;
    if (isText(id) && isText(organisation) && isText(name)) {
      const given: unknown = 'profile' in answer ? answer.profile : undefined;
      return { id, organisation, name, ...(given ? { profile: readProfile(given) } : {}) };
    }
  }
  throw new Error('the service answered with something that is no gateway');
}

/** @param url where the service listens, such as http://127.0.0.1:8080 */
export function workerService(url: string, token: string): WorkerService {
  async function ask(path: string, body?: unknown, method: 'POST' | 'PUT' = 'POST'): Promise<unknown> {
    const answer = await fetch(new URL(path, url), {
      ...(body === undefined ? {} : { method, body: JSON.stringify(body) }),
      headers: { authorization: `Bearer ${token}`, 'content-type': 'application/json' },
      signal: AbortSignal.timeout(answerWithinMs),
    });
    if (!answer.ok) throw new Error(`the service answered ${answer.status} to ${path}`);
    return answer.json();
  }
  return {
    gateways: {
      byName: async (name) => gatewayOf(await ask(`/api/worker/gateways/${encodeURIComponent(name)}`)),
    },
    refused: {
      async setAside(batch) {
        for (let from = 0; from < batch.length; ) {
          let [to, bytes] = [from, 0];
          do {
            bytes += batch[to]?.payload.length ?? 0;
            to += 1;
          } while (to < batch.length && bytes < bytesAtOnce);
          const part = batch
            .slice(from, to)
            .map((one) => ({ ...one, payload: Buffer.from(one.payload).toString('base64') }));
          await ask('/api/worker/refused', part);
          from = to;
        }
      },
    },
    memory: {
      async recall(name) {
        const value = await ask(`/api/worker/memory/${encodeURIComponent(name)}`);
        return typeof value === 'number' ? value : null;
      },
      async keep(name, value) {
        await ask(`/api/worker/memory/${encodeURIComponent(name)}`, { value }, 'PUT');
      },
    },
    async report(batch) {
      for (let from = 0; from < batch.length; from += heardAtOnce)
        await ask('/api/worker/heard', { nowMs: Date.now(), heard: batch.slice(from, from + heardAtOnce) });
    },
    async isTurnOf(worker) {
      const answer = await ask('/api/worker/turn', { worker }, 'PUT');
      return typeof answer === 'object' && answer !== null && 'yours' in answer && answer.yours === true;
    },
    async greet() {
      try {
        await ask('/api/worker/gateways/-');
      } catch (error) {
        const why = error instanceof Error ? error.message : String(error);
        throw new Error(`The service at ${url} cannot be used: ${why}.`);
      }
    },
  };
}
