/** Before the first answer, and when there is none: the same place on every page. */

import { Refusal } from '../service/fault.ts';
import { refresh } from '../service/live.ts';

export function Waiting({ error, what }: { readonly error: Error | null; readonly what: string }) {
  if (!error) {
    return (
      <p class="waiting" role="status">
        Reading {what} …
      </p>
    );
  }
  return (
    <div class="waiting" role="alert">
      <p class="lead">
        {error instanceof Refusal && error.status === 404
          ? `There is no such page: ${error.message}`
          : `${error.message} Nothing is lost: readings are kept by the service itself.`}
      </p>
      <p>
        <button type="button" class="button quiet" onClick={() => void refresh()}>
          Ask again
        </button>
      </p>
    </div>
  );
}

/** What is shown is the last that was heard; says so without taking it away. */
export function Stale({ error }: { readonly error: Error | null }) {
  return error ? (
    <p class="stale" role="status">
      {error.message} What you see is the last that was heard.
    </p>
  ) : null;
}
