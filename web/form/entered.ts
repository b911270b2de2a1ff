/** What was typed into a form, and all that a field of it needs besides its label. */
import { useSignal } from '@preact/signals';
import type { Sending } from './sending.ts';

export interface Field<Value> {
  readonly name: string;
  readonly value: Value;
  readonly fault: string | null;
  readonly onValue: (value: Value) => void;
}

export interface Entered<Texts extends object> {
  readonly text: Texts;
  readonly set: (change: Partial<Texts>) => void;
  /** @param name under which the service would refuse it, where that is another than the key */
  readonly field: <Key extends keyof Texts & string>(key: Key, name?: string) => Field<Texts[Key]>;
  /** The same for one choice of a few. */
  readonly choice: <Key extends keyof Texts & string>(
    key: Key,
    name?: string,
  ) => {
    readonly name: string;
    readonly value: Texts[Key];
    readonly onChoose: (value: Texts[Key]) => void;
  };
}

export function useEntered<Texts extends object>(begin: Texts, sending: Sending): Entered<Texts> {
  const entered = useSignal(begin);
  const set = (change: Partial<Texts>) => {
    entered.value = { ...entered.peek(), ...change };
  };
  /** A key and its own value: what TypeScript cannot see of a computed key. */
  const only = (key: keyof Texts, value: unknown) => ({ [key]: value }) as unknown as Partial<Texts>;
  return {
    text: entered.value,
    set,
    field: (key, name = key) => ({
      name,
      value: entered.value[key],
      fault: sending.faultOf(name),
      onValue: (value) => set(only(key, value)),
    }),
    choice: (key, name = key) => ({
      name,
      value: entered.value[key],
      onChoose: (value) => set(only(key, value)),
    }),
  };
}
