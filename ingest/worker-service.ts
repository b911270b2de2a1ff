/**
 * What a worker that collects alone asks of the service over HTTP: who a gateway is, to keep what was set aside, to note
 * which sensors it heard, and whether it is its turn to watch the broker.
 */
import { readProfile } from './decode/profile.ts';
import type { Gateway, Gateways, Refused, SetAside } from './gateways.ts';
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
/** Characters to a request, where more than one is set aside in it. */
const lettersAtOnce = 1_000_000;
/** Of a payload; a request with one stays below what the service takes. */
const longestKept = 8_000_000;
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

/** A name as a question, since in a path “..” would lead elsewhere. */
const named = (what: 'gateways' | 'memory', name: string): string =>
  `/api/worker/${what}?name=${encodeURIComponent(name)}`;

/** As it travels. What is too long to be kept whole is cut, and says so: else it would come again for ever. */
function written({ payload, sentence, ...one }: SetAside): string {
  const isCut = payload.length > longestKept;
  const cut = `${sentence} Of its ${payload.length} bytes the first ${longestKept} are kept.`;
  return JSON.stringify({
    ...one,
    sentence: isCut ? cut : sentence,
    payload: Buffer.from(payload.subarray(0, longestKept)).toString('base64'),
  });
}

/** @param url where the service listens, such as http://127.0.0.1:8080 */
export function workerService(url: string, token: string): WorkerService {
  async function send(path: string, body?: string, method: 'POST' | 'PUT' = 'POST'): Promise<unknown> {
    const answer = await fetch(new URL(path, url), {
      ...(body === undefined ? {} : { method, body }),
      headers: { authorization: `Bearer ${token}`, 'content-type': 'application/json' },
      signal: AbortSignal.timeout(answerWithinMs),
    });
    if (!answer.ok) throw new Error(`the service answered ${answer.status} to ${path}`);
    return answer.json();
  }
  const ask = (path: string, body?: unknown, method?: 'POST' | 'PUT'): Promise<unknown> =>
    send(path, body === undefined ? undefined : JSON.stringify(body), method);
  return {
    gateways: {
      byName: async (name) => gatewayOf(await ask(named('gateways', name))),
    },
    refused: {
      async setAside(batch) {
        const sendAll = async (texts: readonly string[]): Promise<void> => {
          if (texts.length > 0) await send('/api/worker/refused', `[${texts.join(',')}]`);
        };
        let [texts, letters]: [string[], number] = [[], 0];
        for (const one of batch) {
          const text = written(one);
          if (letters + text.length > lettersAtOnce) {
            await sendAll(texts);
            [texts, letters] = [[], 0];
          }
          texts.push(text);
          letters += text.length;
        }
        await sendAll(texts);
      },
    },
    memory: {
      async recall(name) {
        const value = await ask(named('memory', name));
        return typeof value === 'number' ? value : null;
      },
      async keep(name, value) {
        await ask(named('memory', name), { value }, 'PUT');
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
        await ask(named('gateways', '-'));
      } catch (error) {
        const why = error instanceof Error ? error.message : String(error);
        throw new Error(`The service at ${url} cannot be used: ${why}.`);
      }
    },
  };
}
