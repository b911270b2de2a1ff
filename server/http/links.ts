/**
 * What opens by a signed link and without an account: a person's calendar, the end of messages, a client's care page.
 * Each link is for one person and one purpose; whoever has another gets 404.
 */
import { randomUUID } from 'node:crypto';
import express, { type Express, type Request, type Response } from 'express';
import { eventsOf } from '../registry/events.ts';
import { instrument } from '../registry/instruments.ts';
import { type PersonRow, personByCalendar, personById, unsubscribe } from '../registry/people.ts';
import { venues } from '../registry/venues.ts';
import { byWeight, cautionsFor } from '../watch/advice.ts';
import { calendarOf } from '../watch/calendar.ts';
import { notices } from '../watch/notices.ts';
import { offeredDates } from '../watch/notify/care.ts';
import { claimedPerson, type Purpose, readLink } from '../watch/notify/links.ts';
import { concerns } from '../watch/notify/tell.ts';
import { openCalls } from '../watch/open-calls.ts';
import { standings } from '../watch/standings.ts';
import { carePage, careStyle, plainPage } from './care-page.ts';
import type { AppDeps } from './handlers.ts';
import { sendProblem } from './problem.ts';

const dayMs = 86_400_000;

export function mountLinks(app: Express, { db, now }: AppDeps): void {
  const form = express.urlencoded({ extended: false, limit: '10kb' });
  type Seen = { readonly person: PersonRow; readonly about: string };

  async function seen(token: string, purpose: Purpose): Promise<Seen | null> {
    const person = await personById(db, claimedPerson(token));
    const link = person && readLink(token, purpose, person);
    return person && link ? { person, about: link.about } : null;
  }
  const missing = (res: Response) => sendProblem(res, 404, 'path: there is nothing at this link');
  const html = (res: Response, page: string) =>
    res
      .set('Cache-Control', 'private, no-store')
      .set('Referrer-Policy', 'no-referrer')
      .type('html')
      .send(page);

  app.get('/calendar/:file', async (req, res) => {
    const person = await personByCalendar(db, req.params.file.replace(/\.ics$/, ''));
    if (!person) return missing(res);
    const viewer = { organisationId: person.organisationId };
    const nowMs = now();
    const calls = (await openCalls(db, viewer, nowMs)).filter((call) => {
      if (call.choice?.personId) return call.choice.personId === person.id;
      if (person.body.role === 'technician') return true;
      if (person.body.role === 'venue manager') return person.body.venueIds.includes(call.venueId ?? '');
      return person.body.instrumentIds.includes(call.instrumentId ?? '');
    });
    const places = await venues(db, viewer);
    const events = (await eventsOf(db, viewer, { fromMs: nowMs - 30 * dayMs }))
      .filter((event) => person.body.role === 'technician' || person.body.venueIds.includes(event.venueId))
      .map((event) => {
        const venue = places.find((one) => one.id === event.venueId);
        return { ...event, venueName: venue?.name ?? '', timeZone: venue?.timeZone ?? person.body.timeZone };
      });
    const needs = { name: `crownwatch: ${person.body.name}`, calls, events };
    res
      .set('Cache-Control', 'private, no-cache')
      .type('text/calendar; charset=utf-8')
      .send(calendarOf(needs, nowMs));
  });

  app.get('/unsubscribe/:token', async (req, res) => {
    const found = await seen(req.params.token, 'unsubscribe');
    if (!found) return missing(res);
    html(
      res,
      plainPage(
        'No more messages?',
        `Messages to ${found.person.body.email ?? 'you'} will stop.`,
        'Stop them',
      ),
    );
  });
  // RFC 8058: one POST, nothing asked.
  app.post('/unsubscribe/:token', form, async (req, res) => {
    const token = String(req.params.token);
    const found = await seen(token, 'unsubscribe');
    if (!found) return missing(res);
    await unsubscribe(db, found.person.id, now());
    html(res, plainPage('Done', 'No more messages will be sent to you.', null));
  });

  async function care(req: Request, res: Response): Promise<void> {
    const found = await seen(String(req.params.token), 'care');
    if (!found?.person.body.instrumentIds.includes(found.about)) return missing(res);
    const { person, about } = found;
    const viewer = { organisationId: person.organisationId };
    const nowMs = now();
    const piano = await instrument(db, viewer, about);
    if (req.method === 'POST') {
      const { answer, date } = (req.body ?? {}) as { answer?: unknown; date?: unknown };
      const kind = answer === 'done' || answer === 'call me' || answer === 'date' ? answer : null;
      if (!kind) return sendProblem(res, 400, 'answer: must be "done", "call me" or "date"');
      const dateMs = kind === 'date' ? Number(date) : null;
      if (dateMs !== null && !(Number.isFinite(dateMs) && dateMs > nowMs && dateMs < nowMs + 366 * dayMs)) {
        return sendProblem(res, 400, 'date: must be one of the offered dates');
      }
      await db
        .insertInto('care_answer')
        .values({
          id: randomUUID(),
          organisation_id: person.organisationId,
          instrument_id: about,
          person_id: person.id,
          answer: kind,
          date_ms: dateMs,
          answered_ms: nowMs,
        })
        .execute();
    }
    const open = byWeight(
      (await notices(db, viewer, { over: false, instrumentId: about })).filter(
        (one) => one.toClient !== '' && concerns(person, one),
      ),
    );
    const last = await db
      .selectFrom('care_answer')
      .selectAll()
      .where('person_id', '=', person.id)
      .where('instrument_id', '=', about)
      .orderBy('answered_ms', 'desc')
      .executeTakeFirst();
    const stands = (await standings(db, viewer)).get(about);
    html(
      res,
      carePage({
        piano: `${piano.name}${piano.year ? `, ${piano.year}` : ''}`,
        sentences: open.map((one) => one.toClient),
        cautions: [...new Set(open.flatMap((one) => cautionsFor(one.rule)))].filter(
          (one) => !one.startsWith('The strings'),
        ),
        dates: open.some((one) => one.minutes > 0)
          ? offeredDates(open[0]?.notBeforeMs ?? null, person.body.timeZone, nowMs)
          : [],
        lastTunedMs: stands?.lastTunedMs ?? null,
        answered: last ? { answer: last.answer, dateMs: last.date_ms, atMs: last.answered_ms } : null,
        timeZone: person.body.timeZone,
        nowMs,
      }),
    );
  }
  app.get(
    '/care.css',
    (_req, res) => void res.type('css').set('Cache-Control', 'public, max-age=3600').send(careStyle),
  );
  app.get('/care/:token', care);
  app.post('/care/:token', form, care);
}
