/** The tasks of a venue's day, for whoever has the link: no account, no script. What to do, a tick, a word, a photo. */
import type { RoomToday } from '../contract/index.ts';
import { cautions } from '../watch/cautions.ts';
import { escaped, frame } from './plain-page.ts';

export interface TaskPageNeeds {
  readonly venueName: string;
  readonly timeZone: string;
  readonly rooms: readonly RoomToday[];
  /** What went wrong with what was sent; null: nothing. */
  readonly trouble: string | null;
  readonly nowMs: number;
}

const small = [
  'No',
  'One',
  'Two',
  'Three',
  'Four',
  'Five',
  'Six',
  'Seven',
  'Eight',
  'Nine',
  'Ten',
  'Eleven',
  'Twelve',
];

export function taskPage({ venueName, timeZone, rooms, trouble, nowMs }: TaskPageNeeds): string {
  const said = (ms: number, options: Intl.DateTimeFormatOptions) =>
    new Intl.DateTimeFormat('en-GB', { timeZone, ...options }).format(ms);
  const asked = rooms.filter((one) => one.today.task);
  const open = asked.filter((one) => one.today.doneMs === null);
  const done = asked.filter((one) => one.today.doneMs !== null);
  const calm = rooms.filter((one) => !one.today.task);
  const count = small[open.length] ?? String(open.length);
  const title =
    open.length > 0
      ? `${count} ${open.length === 1 ? 'thing' : 'things'} to do today`
      : done.length > 0
        ? 'All is done for today'
        : 'Nothing to do today';
  const careful = [...new Set([cautions.mains, ...open.flatMap((one) => one.today.cautions)])];
  const clock = (ms: number) => said(ms, { hour: '2-digit', minute: '2-digit' });
  return frame(
    title,
    [
      `<p class="quiet">${escaped(venueName)} · ${said(nowMs, { weekday: 'long', day: 'numeric', month: 'long' })}</p><h1>${title}</h1>`,
      trouble === null ? '' : `<p class="trouble" role="alert">${escaped(trouble)}</p>`,
      ...open.map((room) => openTask(room)),
      open.length === 0
        ? ''
        : `<h2>Please take care</h2><div class="care">${careful.map((one) => `<p>${escaped(one)}</p>`).join('')}</div>`,
      done.length === 0
        ? ''
        : `<h2>Done today</h2>${done.map((room) => `<p>${escaped(room.name)}: ticked at ${clock(room.today.doneMs ?? nowMs)}. Thank you; the air will tell by tomorrow.</p>`).join('')}`,
      calm.length === 0
        ? ''
        : `<h2>Nothing to do</h2><p>${calm.map((room) => escaped(room.name)).join(', ')}.</p>`,
      '<p class="quiet">What you tick, write and send here is seen by the piano technician.</p>',
    ].join(''),
  );
}

function openTask({ id, name, today }: RoomToday): string {
  const about = `about-${id}`;
  return (
    `<section class="task" aria-labelledby="${about}"><h2 id="${about}">${escaped(name)}</h2>` +
    [today.sentence, ...today.also].map((one) => `<p>${escaped(one)}</p>`).join('') +
    `<form method="post" enctype="multipart/form-data"><input type="hidden" name="room" value="${id}">` +
    '<details><summary>Add a word or a photo</summary>' +
    '<label>Anything to say? <input name="note" maxlength="500" autocomplete="off"></label>' +
    '<label>A photo, if it helps <input type="file" name="photo" accept="image/jpeg,image/png,image/webp"></label></details>' +
    `<button class="first">Done<span class="unseen"> in ${escaped(name)}</span></button></form></section>`
  );
}
