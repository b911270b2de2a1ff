/** The door to a venue's tasks: a secret in the address and nothing else, so it is narrow, slow to try, and tells nobody. */
import express, { type Response as Answer, type Express, type Request } from 'express';
import * as z from 'zod/mini';
import { NotAPicture, photoLimitBytes } from '../visits/picture.ts';
import { RoomYears, roomsToday } from '../watch/venue-rooms.ts';
import { noteLinkUse, tickTask, venueOfSecret } from '../watch/venue-tasks.ts';
import type { AppDeps } from './handlers.ts';
import { sendProblem } from './problem.ts';
import { rate } from './rate.ts';
import { taskPage } from './task-page.ts';

const minuteMs = 60_000;
const ticked = z.object({
  room: z.uuid(),
  note: z.string().check(z.trim(), z.maxLength(500)),
});

export function mountTaskLinks(app: Express, { db, store, watch, now }: AppDeps): void {
  const years = new RoomYears();
  const wrong = rate(20, 10 * minuteMs, now);
  const shown = rate(60, minuteMs, now);
  const sent = rate(30, 10 * minuteMs, now);
  const body = express.raw({ type: 'multipart/form-data', limit: photoLimitBytes + 10_000 });

  const quietly = (res: Answer) =>
    res
      .set('Cache-Control', 'private, no-store')
      .set('Referrer-Policy', 'no-referrer')
      .set('X-Robots-Tag', 'noindex, nofollow');
  const tooOften = (res: Answer) =>
    sendProblem(res.set('Retry-After', '600'), 429, 'path: too often; wait ten minutes and try again');

  async function opened(req: Request, res: Answer) {
    const who = req.ip ?? '';
    const secret = String(req.params.secret);
    const found = await venueOfSecret(db, secret);
    if (!found) {
      if (!wrong.take(who)) tooOften(res);
      else sendProblem(res, 404, 'path: there is nothing at this link; ask for a new one');
      return null;
    }
    if (!shown.take(found.venueId)) {
      tooOften(res);
      return null;
    }
    return found;
  }

  type Found = NonNullable<Awaited<ReturnType<typeof opened>>>;
  async function show(res: Answer, { venueId, viewer }: Found, trouble: string | null): Promise<void> {
    const nowMs = now();
    const rooms = await roomsToday({ db, store }, viewer, years, venueId, nowMs);
    const [first] = rooms;
    const page = taskPage({
      venueName: first?.venueName ?? 'This venue',
      timeZone: first?.timeZone ?? 'UTC',
      rooms,
      trouble,
      nowMs,
    });
    quietly(res)
      .status(trouble === null ? 200 : 422)
      .type('html')
      .send(page);
  }

  app.get('/tasks/:secret', async (req, res) => {
    const found = await opened(req, res);
    if (!found) return;
    await noteLinkUse(db, found.venueId, now());
    await show(res, found, null);
  });

  app.post(
    '/tasks/:secret',
    body,
    async (req: Request, res: Answer) => {
      const found = await opened(req, res);
      if (!found) return;
      if (!sent.take(found.venueId)) return tooOften(res);
      const { venueId, viewer } = found;
      const form = await formOf(req);
      const given = ticked.safeParse({ room: form?.get('room'), note: form?.get('note') ?? '' });
      if (!form || !given.success) {
        return show(res, found, 'That could not be read: tick it once more, with at most 500 letters.');
      }
      const rooms = await roomsToday({ db, store }, viewer, years, venueId, now());
      const room = rooms.find((one) => one.id === given.data.room && one.today.task);
      if (!room) return show(res, found, 'There is nothing to do there any more.');
      const photo = form.get('photo');
      const bytes = photo instanceof Blob ? new Uint8Array(await photo.arrayBuffer()) : new Uint8Array();
      try {
        await tickTask(db, viewer, { room, note: given.data.note, photo: bytes }, now());
      } catch (error) {
        if (!(error instanceof NotAPicture)) throw error;
        return show(res, found, `Not ticked yet. ${error.message.replace(/^photo: /, 'The photo: ')}.`);
      }
      // What was done may have changed what is true: the watch looks again at the pianos of this room.
      await watch.reconsider(
        viewer,
        room.instruments.map((one) => one.id),
        null,
      );
      quietly(res).redirect(303, req.path);
    },
    (error: unknown, _req: Request, res: Answer, next: express.NextFunction) => {
      const tooLarge =
        typeof error === 'object' && error !== null && 'status' in error && error.status === 413;
      if (!tooLarge) return next(error);
      sendProblem(quietly(res), 413, `photo: at most ${Math.round(photoLimitBytes / 1e6)} MB`);
    },
  );
}

/** The fields of a form as a browser sends them; null where the body is none. */
async function formOf(req: Request): Promise<FormData | null> {
  const type = req.get('content-type') ?? '';
  if (!Buffer.isBuffer(req.body) || !type.startsWith('multipart/form-data')) return null;
  try {
    return await new Response(new Uint8Array(req.body), { headers: { 'content-type': type } }).formData();
  } catch {
    return null;
  }
}
