/** What happened to a notice, in order. */
import { useLive } from '../service/live.ts';
import { moment } from '../words/times.ts';

const kindWords: Readonly<Record<string, string>> = {
  begins: 'began',
  worse: 'grew worse',
  becomes: 'went on as',
  freezes: 'on hold',
  'goes on': 'went on',
  over: 'over',
  acknowledged: 'acknowledged',
  snoozed: 'snoozed',
};

export function History({ noticeId, timeZone }: { readonly noticeId: string; readonly timeZone: string }) {
  const { answer, error } = useLive('noticeHistory', { params: { id: noticeId } }, 60_000);
  const events = answer.value?.events;
  if (!events) return <p role="status">{error.value ? error.value.message : 'Reading what happened …'}</p>;
  return (
    <ol class="history">
      {events.map((event, i) => (
        // Entries have no other identity than their place.
        <li key={i}>
          <span class="quiet">{moment(event.atMs, timeZone)}:</span> {kindWords[event.kind] ?? event.kind}
          {event.note !== '' && `: ${event.note}`}
        </li>
      ))}
    </ol>
  );
}
