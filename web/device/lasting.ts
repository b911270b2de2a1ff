/** Asks the browser not to clear what this device keeps, and tells what it answered. */
import { signal } from '@preact/signals';

export type Lasting = 'promised' | 'not promised' | 'unknown';
export const lasting = signal<Lasting>('unknown');

export async function askToLast(): Promise<void> {
  try {
    const kept = (await navigator.storage?.persisted?.()) || (await navigator.storage?.persist?.());
    lasting.value = kept === undefined ? 'unknown' : kept ? 'promised' : 'not promised';
  } catch {
    lasting.value = 'unknown';
  }
}

export const lastingWords: Readonly<Record<Lasting, string>> = {
  promised: 'The browser has promised to keep it.',
  'not promised':
    'The browser may clear it when space is short: send soon, or save it to a file. From the home screen it is kept longer; send before you put crownwatch there, since there it begins empty.',
  unknown: 'Whether the browser keeps it for long cannot be told: send soon, or save it to a file.',
};
