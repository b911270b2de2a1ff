/** The life of a form that is being sent: under way, refused at these fields, or done. */
import { useSignal } from '@preact/signals';
import type { RefObject } from 'preact';
import { useRef } from 'preact/hooks';
import { Refusal } from '../service/fault.ts';
import { capital } from '../words/numbers.ts';

export interface Sending {
  readonly form: RefObject<HTMLFormElement | null>;
  readonly busy: boolean;
  /** What to say beside the button; null while nothing is amiss. */
  readonly trouble: string | null;
  /** The refusal's status, 0 when the service was not reached or nothing was refused. */
  readonly status: number;
  /** What was wrong with the field of this name, where anything was. */
  readonly faultOf: (field: string) => string | null;
  /** Runs `work`; says what it met. Gives whether it went well. */
  readonly send: (work: () => Promise<void>) => Promise<boolean>;
}

interface State {
  readonly busy: boolean;
  readonly trouble: string | null;
  readonly status: number;
  readonly faults: ReadonlyMap<string, string>;
}

const atRest: State = { busy: false, trouble: null, status: 0, faults: new Map() };

/** A reading is a value and a unit; its field is named for the reading. */
function fieldName(field: string): string {
  return field.replace(/\.(value|unit)$/, '');
}

/** "conditions.humidityPct: must be at most 100" beside its field: the field need not be named again. */
function besideField(field: string, sentence: string): string {
  return capital(sentence.startsWith(`${field}: `) ? sentence.slice(field.length + 2) : sentence);
}

/** Focuses the first field that was refused; false if a fault names a field this form does not show. */
function showFaults(form: HTMLFormElement | null, fields: readonly string[]): boolean {
  const named = [...(form?.elements ?? [])].filter(
    (element): element is HTMLInputElement => 'name' in element && fields.includes(String(element.name)),
  );
  named[0]?.focus();
  return fields.length > 0 && fields.every((field) => named.some(({ name }) => name === field));
}

/** @param notDone how a refusal begins */
export function useSending(notDone = 'Not saved'): Sending {
  const form = useRef<HTMLFormElement>(null);
  const state = useSignal<State>(atRest);
  const send = async (work: () => Promise<void>) => {
    if (state.value.busy) return false;
    state.value = { ...atRest, busy: true };
    try {
      await work();
      state.value = atRest;
      return true;
    } catch (error) {
      const faults = error instanceof Refusal ? error.faults : [];
      const message = error instanceof Error ? error.message : String(error);
      const allShown = showFaults(
        form.current,
        faults.map(({ field }) => fieldName(field)),
      );
      state.value = {
        busy: false,
        trouble: allShown ? `${notDone}: see what is marked above.` : `${notDone}: ${message}`,
        status: error instanceof Refusal ? error.status : 0,
        faults: new Map(
          faults.map(({ field, sentence }) => [fieldName(field), besideField(field, sentence)]),
        ),
      };
      return false;
    }
  };
  const { busy, trouble, status, faults } = state.value;
  return { form, busy, trouble, status, faultOf: (field) => faults.get(field) ?? null, send };
}
