/** What was ticked by the venues' task links, newest first, until the technician has seen it. */
import type { VenueTask } from '../../server/contract/index.ts';
import { useSending } from '../form/sending.ts';
import { call } from '../service/call.ts';
import { refresh, useLive } from '../service/live.ts';
import { nearDay } from '../words/times.ts';

export function Ticked() {
  const tasks = useLive('venueTasks', {}, 60_000).answer.value ?? [];
  const [fresh, seen] = [
    tasks.filter((one) => one.seenMs === null),
    tasks.filter((one) => one.seenMs !== null),
  ];
  if (tasks.length === 0) return null;
  return (
    <section class="ticked" aria-labelledby="ticked">
      <h2 id="ticked">Ticked at the venues</h2>
      {fresh.length === 0 && <p class="quiet">All of it is seen.</p>}
      <ul>
        {fresh.map((task) => (
          <Task key={task.id} task={task} />
        ))}
      </ul>
      {seen.length > 0 && (
        <details class="more">
          <summary>Seen before ({seen.length})</summary>
          <ul>
            {seen.map((task) => (
              <Task key={task.id} task={task} />
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}

function Task({ task }: { readonly task: VenueTask }) {
  const sending = useSending('Not marked');
  return (
    <li class="ticked-task">
      <div>
        <p>
          <b>
            {task.roomName}, {task.venueName}
          </b>{' '}
          <span class="quiet">{nearDay(task.doneMs, task.timeZone)}</span>
        </p>
        <p>{task.task}</p>
        {task.note !== '' && <p class="ticked-note">“{task.note}”</p>}
        {task.seenMs === null && (
          <p>
            <button
              type="button"
              class="link"
              disabled={sending.busy}
              onClick={() =>
                void sending.send(async () => {
                  await call('seeTask', { params: { id: task.id }, body: {} });
                  await refresh();
                })
              }
            >
              Mark as seen <span class="unseen">: {task.roomName}</span>
            </button>{' '}
            {sending.trouble && <span role="alert">{sending.trouble}</span>}
          </p>
        )}
      </div>
      {task.photo && (
        <a href={`/api/venue-tasks/${task.id}/photo`}>
          <img
            src={`/api/venue-tasks/${task.id}/photo?size=small`}
            alt={`Sent with the tick: ${task.roomName}`}
            loading="lazy"
          />
        </a>
      )}
    </li>
  );
}
