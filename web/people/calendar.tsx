/** The address under which a calendar program finds a person's rounds: told once, made anew at a press. */
import { useSignal } from '@preact/signals';
import type { Person } from '../../server/contract/index.ts';
import { useSending } from '../form/sending.ts';
import { Scroll } from '../marks/scroll.tsx';
import { call } from '../service/call.ts';
import { refresh } from '../service/live.ts';
import { nowMs } from '../service/now.ts';
import { longDay } from '../words/times.ts';

export function Calendar({ person }: { readonly person: Person }) {
  const sending = useSending('Not made');
  const address = useSignal<string | null>(null);
  const onlyHere = useSignal(false);
  const copied = useSignal<string | null>(null);
  const renew = async () => {
    const { path, url } = await call('renewCalendar', { params: { id: person.id } });
    address.value = url ?? `${location.origin}${path}`;
    onlyHere.value = url === null;
    copied.value = null;
    await refresh();
  };
  const copy = async () => {
    try {
      await navigator.clipboard.writeText(address.value ?? '');
      copied.value = 'Copied.';
    } catch {
      copied.value = 'This browser does not let it be copied: select it by hand.';
    }
  };
  return (
    <section class="calendar" aria-labelledby="calendar">
      <h2 id="calendar">Calendar</h2>
      <p class="measure">
        Accepted rounds and events show up in any calendar program that takes an address to follow.{' '}
        {person.calendarMadeMs === null
          ? 'There is no address yet.'
          : `An address was made on ${longDay(person.calendarMadeMs, person.timeZone, nowMs.value)}; a new one makes it void.`}
      </p>
      {address.value && (
        <div class="once" role="status">
          <p>
            <b>Shown this once.</b> Whoever has it reads the calendar: keep it like a key.
          </p>
          <Scroll label="Address of the calendar">
            <pre>{address.value}</pre>
          </Scroll>
          <p>
            <button type="button" class="link" onClick={() => void copy()}>
              Copy it
            </button>{' '}
            {copied.value}
          </p>
          {onlyHere.value && (
            <p class="quiet">
              It opens on this machine only: the service was not told where people reach it (PUBLIC_URL).
            </p>
          )}
        </div>
      )}
      <p role="alert" class="trouble">
        {sending.trouble}
      </p>
      <button
        type="button"
        class="button quiet"
        disabled={sending.busy}
        onClick={() => void sending.send(renew)}
      >
        {person.calendarMadeMs === null ? 'Make the address' : 'Make a new address'}
      </button>
    </section>
  );
}
