/** The door to a client's care page: a signed link for one person and one piano. Reads, and takes one of three answers. */
import express, { type Express, type Request, type Response } from 'express';
import { instrument, placeOf } from '../registry/instruments.ts';
import { type PersonRow, personById } from '../registry/people.ts';
import { byWeight, cautionsFor } from '../watch/advice.ts';
import { cautions } from '../watch/cautions.ts';
import { notices } from '../watch/notices.ts';
import { offeredDates, wasOffered } from '../watch/notify/care-dates.ts';
import { careAnswers, takeCareReply } from '../watch/notify/care-reply.ts';
import { claimedPerson, readLink } from '../watch/notify/links.ts';
import { concerns } from '../watch/notify/tell.ts';
import { standings } from '../watch/standings.ts';
import { RoomYears, roomsToday } from '../watch/venue-rooms.ts';
import { carePage } from './care-page.ts';
import type { AppDeps } from './handlers.ts';
import { faceFiles, plainStyle } from './plain-style.ts';
import { sendProblem } from './problem.ts';
import { rate } from './rate.ts';

const minuteMs = 60_000;

export function mountCare(app: Express, { db, store, watch, now }: AppDeps): void {
  const years = new RoomYears();
  const form = express.urlencoded({ extended: false, limit: '10kb' });
  const asked = rate(60, minuteMs, now);
  const wrong = rate(20, 10 * minuteMs, now);

  app.get('/plain.css', (_req, res) => {
    res.type('css').set('Cache-Control', 'public, max-age=3600').send(plainStyle);
  });
  app.get('/faces/:file', (req, res) => {
    const file = faceFiles.get(req.params.file);
    if (!file) return sendProblem(res, 404, 'path: there is no such face');
    res.set('Cache-Control', 'public, max-age=31536000, immutable').type('font/woff2').sendFile(file);
  });

  interface Seen {
    readonly person: PersonRow;
    readonly instrumentId: string;
  }
  async function seen(req: Request, res: Response): Promise<Seen | null> {
    const token = String(req.params.token);
    const person = await personById(db, claimedPerson(token));
    const link = person && readLink(token, 'care', person);
    if (!person || !link || !person.body.instrumentIds.includes(link.about)) {
      if (wrong.take(req.ip ?? '')) sendProblem(res, 404, 'path: there is nothing at this link');
      else sendProblem(res, 429, 'path: too often; wait ten minutes and try again');
      return null;
    }
    if (!asked.take(person.id)) {
      sendProblem(res, 429, 'path: too often; wait a minute and try again');
      return null;
    }
    return { person, instrumentId: link.about };
  }

  async function openFor({ person, instrumentId }: Seen) {
    const viewer = { organisationId: person.organisationId };
    const all = await notices(db, viewer, { over: false, instrumentId });
    return byWeight(all.filter((one) => one.toClient !== '' && concerns(person, one)));
  }

  async function show(res: Response, found: Seen, trouble: string | null): Promise<void> {
    const { person, instrumentId } = found;
    const viewer = { organisationId: person.organisationId };
    const nowMs = now();
    const piano = await instrument(db, viewer, instrumentId);
    const open = await openFor(found);
    const room = (await roomsToday({ db, store }, viewer, years, piano.venueId, nowMs)).find(
      (one) => one.id === piano.roomId,
    );
    // What an open notice is about is done in small steps; without one the client is left in peace.
    const steps = open.length > 0 && room?.today.task ? [room.today.sentence, ...room.today.also] : [];
    const last = await db
      .selectFrom('care_answer')
      .selectAll()
      .where('person_id', '=', person.id)
      .where('instrument_id', '=', instrumentId)
      .orderBy('answered_ms', 'desc')
      .executeTakeFirst();
    const page = carePage({
      piano: `${piano.name}${piano.year ? `, ${piano.year}` : ''}`,
      sentences: open.map((one) => one.toClient),
      steps,
      // The strings are the technician's to mind.
      cautions: [
        ...new Set([...open.flatMap((one) => cautionsFor(one.rule)), ...(room?.today.cautions ?? [])]),
      ].filter((one) => one !== cautions.strings && open.length > 0),
      dates: open.some((one) => one.minutes > 0)
        ? offeredDates(open[0]?.notBeforeMs ?? null, person.body.timeZone, nowMs)
        : [],
      lastTunedMs: (await standings(db, viewer)).get(instrumentId)?.lastTunedMs ?? null,
      answered: last ? { answer: last.answer, dateMs: last.date_ms, atMs: last.answered_ms } : null,
      trouble,
      timeZone: person.body.timeZone,
      nowMs,
    });
    res
      .status(trouble === null ? 200 : 422)
      .set('Cache-Control', 'private, no-store')
      .set('Referrer-Policy', 'no-referrer')
      .set('X-Robots-Tag', 'noindex, nofollow')
      .type('html')
      .send(page);
  }

  app.get('/care/:token', async (req, res) => {
    const found = await seen(req, res);
    if (found) await show(res, found, null);
  });

  app.post('/care/:token', form, async (req: Request, res: Response) => {
    const found = await seen(req, res);
    if (!found) return;
    const { person, instrumentId } = found;
    const given = (req.body ?? {}) as { answer?: unknown; date?: unknown };
    const answer = careAnswers.find((one) => one === given.answer);
    if (!answer) return show(res, found, 'That answer could not be read; please choose one below.');
    const dateMs = answer === 'date' ? Number(given.date) : null;
    const [first] = await openFor(found);
    const notBefore = first?.notBeforeMs ?? null;
    if (dateMs !== null && !wasOffered(dateMs, notBefore, person.body.timeZone, now())) {
      return show(res, found, 'That day is not offered any more; please choose another.');
    }
    const viewer = { organisationId: person.organisationId };
    const place = placeOf(await instrument(db, viewer, instrumentId));
    const news = await takeCareReply(db, viewer, person, { instrumentId, place, answer, dateMs }, now());
    // What was done may have changed what is true.
    if (news && answer === 'done') await watch.reconsider(viewer, [instrumentId], null);
    res.set('Referrer-Policy', 'no-referrer').redirect(303, req.path);
  });
}
