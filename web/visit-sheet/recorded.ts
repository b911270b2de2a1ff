/** The visit recorded last in this sitting, so that the page it leads to can say what it changed. */
import { signal } from '@preact/signals';

export const recorded = signal<{ readonly instrumentId: string; readonly sentenceBefore: string } | null>(
  null,
);
