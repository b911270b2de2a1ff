/** The foot of a form: the one thing to press, and what stood in the way. */
import type { ComponentChildren } from 'preact';
import type { Sending } from './sending.ts';

interface SubmitProps {
  readonly sending: Sending;
  readonly words: string;
  readonly back?: string;
  readonly children?: ComponentChildren;
}

export function Submit({ sending, words, back, children }: SubmitProps) {
  return (
    <div class="submit">
      <p role="alert" class="trouble">
        {sending.trouble}
      </p>
      {children}
      <div class="submit-row">
        <button type="submit" class="button" disabled={sending.busy}>
          {sending.busy ? 'Saving …' : words}
        </button>
        {back && (
          <a class="button quiet" href={back}>
            Leave it
          </a>
        )}
      </div>
    </div>
  );
}
