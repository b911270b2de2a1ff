/** Whether a visit is being written, on this page or on another of this browser: then nothing is taken from under it. */
import { signal } from '@preact/signals';

/** On this page. */
export const writing = signal(false);

const name = 'crownwatch-writing';

/** @returns to be called when the sheet is left. A page that dies lets go by itself. */
export function beginWriting(): () => void {
  writing.value = true;
  let left = false;
  let letGo: () => void = () => {
    left = true;
  };
  // Shared: several sheets may be open, each on its page.
  void navigator.locks?.request(
    name,
    { mode: 'shared' },
    () =>
      new Promise<void>((resolve) => {
        if (left) resolve();
        else letGo = resolve;
      }),
  );
  return () => {
    writing.value = false;
    letGo();
  };
}

/** On any page of this browser; where it cannot be told, on none. */
export async function isBeingWritten(): Promise<boolean> {
  const locks = await navigator.locks?.query();
  return locks?.held?.some((lock) => lock.name === name) ?? false;
}
