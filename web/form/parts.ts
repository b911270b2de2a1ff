/** What a field shows and changes: a part of something that is written as a whole, or a signal. */
import type { Signal } from '@preact/signals';

/** Fields named for a part of the whole; each gives the whole back with its part changed. */
export function partsOf<Whole extends object>(whole: Whole, onChange: (whole: Whole) => void) {
  return <Part extends keyof Whole & string>(name: Part) => ({
    name,
    value: whole[name],
    onValue: (value: Whole[Part]) => onChange({ ...whole, [name]: value }),
  });
}

/** A field that is kept in a signal of its own. */
export const heldIn = <Value>(signal: Signal<Value>) => ({
  value: signal.value,
  onValue: (value: Value) => {
    signal.value = value;
  },
});
