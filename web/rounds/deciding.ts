/** What was last decided about calls, so that it can be undone: one step, for as long as the page is open. */
import { signal } from '@preact/signals';
import type { Call, CallChoiceBody, CallChoicesBody } from '../../server/contract/index.ts';
import { call } from '../service/call.ts';
import { refresh } from '../service/live.ts';

type Choices = CallChoicesBody['choices'];

interface Decided {
  /** "Accepted for Thursday 26 November." */
  readonly sentence: string;
  /** What stood before, call by call; null once it was undone, or where it went wrong. */
  readonly before: Choices | null;
}

export const decided = signal<Decided | null>(null);

const asBody = ({ choice }: Call): CallChoiceBody | null =>
  choice && {
    choice: choice.choice,
    plannedMs: choice.plannedMs,
    personId: choice.personId,
    reason: choice.reason,
  };

/** @throws Refusal or Unreachable; then nothing was changed. */
export async function decide(
  calls: readonly Call[],
  choiceOf: (one: Call, position: number) => CallChoiceBody | null,
  sentence: string,
): Promise<void> {
  const before = calls.map((one) => ({ id: one.id, choice: asBody(one) }));
  const choices = calls.map((one, i) => ({ id: one.id, choice: choiceOf(one, i) }));
  await call('chooseCalls', { body: { choices } });
  decided.value = { sentence, before };
  // The form closes at once; what is shown follows as it comes.
  void refresh();
}

/** As `decide`, for a single press with no form to say beside what stood in the way. */
export async function takeBack(calls: readonly Call[], sentence: string): Promise<void> {
  try {
    await decide(calls, () => null, sentence);
  } catch (error) {
    decided.value = { sentence: `Not taken back: ${said(error)}`, before: null };
  }
}

export async function undo(): Promise<void> {
  const last = decided.value;
  if (!last?.before) return;
  try {
    await call('chooseCalls', { body: { choices: last.before } });
    decided.value = { sentence: 'Undone.', before: null };
    await refresh();
  } catch (error) {
    decided.value = { ...last, sentence: `Not undone: ${said(error)}` };
  }
}

const said = (error: unknown): string => (error instanceof Error ? error.message : String(error));

/** Each begins when the one before it ends: a calendar then shows the day as it will be. */
export function oneAfterTheOther(calls: readonly Call[], beginMs: number): readonly number[] {
  let atMs = beginMs;
  return calls.map(({ minutes }) => {
    const startMs = atMs;
    atMs += minutes * 60_000;
    return startMs;
  });
}
