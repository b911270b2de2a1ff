/**
 * What the pages show stays current. This file is the only one that knows how: it asks again every so often while the
 * page is looked at. A stream of events could take its place without any page noticing.
 */
import { type ReadonlySignal, type Signal, signal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { RouteName } from '../../server/contract/index.ts';
import { type Answer, call, type Given } from './call.ts';

export interface Live<T> {
  /** The last answer; null before the first. Kept while later questions fail. */
  readonly answer: ReadonlySignal<T | null>;
  /** What the last question met, null when it was answered. */
  readonly error: ReadonlySignal<Error | null>;
}

interface Question extends Live<unknown> {
  readonly answer: Signal<unknown>;
  readonly error: Signal<Error | null>;
  readonly ask: () => Promise<unknown>;
  /** How often each of those who look at it now wants it asked, ms. */
  readonly wished: number[];
  asking: boolean;
  /** Asked for while a question was under way: its answer may already be old. */
  again: boolean;
  /** When it was last answered; negative infinity: it is to be asked at once. */
  askedMs: number;
  leastMs: number;
}

/** Who wants it most often decides. */
const isDue = ({ wished, askedMs, leastMs }: Question): boolean =>
  performance.now() >= askedMs + Math.max(leastMs, Math.min(...wished));

const questions = new Map<string, Question>();
/** Answers nobody looks at are kept for going back, but not all of them for ever. */
const keptUnwatched = 24;

async function ask(question: Question): Promise<void> {
  if (question.asking) {
    question.again = true;
    return;
  }
  question.asking = true;
  const begun = performance.now();
  try {
    question.answer.value = await question.ask();
    question.error.value = null;
  } catch (error) {
    question.error.value = error instanceof Error ? error : new Error(String(error));
  } finally {
    question.asking = false;
    // A large fleet's answer takes long: ask for it less often, so that asking never fills more than a tenth.
    question.askedMs = performance.now();
    question.leastMs = 10 * (question.askedMs - begun);
  }
  if (question.again) {
    question.again = false;
    await ask(question);
  }
}

function forgetOldest(): void {
  const idle = [...questions].filter(([, question]) => question.wished.length === 0);
  for (const [key] of idle.slice(0, Math.max(0, idle.length - keptUnwatched))) questions.delete(key);
}

function askWhatIsDue(): void {
  if (document.visibilityState !== 'visible') return;
  for (const question of questions.values()) {
    if (question.wished.length > 0 && !question.asking && isDue(question)) void ask(question);
  }
}

setInterval(askWhatIsDue, 1000);
document.addEventListener('visibilitychange', askWhatIsDue);
window.addEventListener('online', () => void refresh());

/** Asks again, at once, all that is on the page: after something was recorded. */
export async function refresh(): Promise<void> {
  const watched: Promise<void>[] = [];
  for (const question of questions.values()) {
    question.askedMs = Number.NEGATIVE_INFINITY;
    if (question.wished.length > 0) watched.push(ask(question));
  }
  await Promise.all(watched);
}

/** Keeps the answer to a route current while the component is on the page; null asks nothing. */
export function useLive<N extends RouteName>(
  name: N,
  given: Given<N> | null,
  everyMs = 15_000,
): Live<Answer<N>> {
  const key = given === null ? '' : `${name} ${JSON.stringify(given)}`;
  let question = questions.get(key);
  if (!question) {
    question = {
      answer: signal<unknown>(null),
      error: signal<Error | null>(null),
      ask: () => (given === null ? Promise.resolve(null) : call(name, given)),
      wished: [],
      asking: false,
      again: false,
      askedMs: Number.NEGATIVE_INFINITY,
      leastMs: 0,
    };
    questions.set(key, question);
  }
  const asked = question;
  useEffect(() => {
    asked.wished.push(everyMs);
    if (isDue(asked)) void ask(asked);
    return () => {
      asked.wished.splice(asked.wished.indexOf(everyMs), 1);
      forgetOldest();
    };
  }, [asked, everyMs]);
  return asked as Live<Answer<N>>;
}
