/**
 * What opens by a signed link and without an account: a person's calendar, the end of messages.
 * Each link is for one person and one purpose; whoever has another gets 404.
 */
import express, { type Express, type Response } from 'express';
import { eventsOf } from '../registry/events.ts';
import { type PersonRow, personByCalendar, personById } from '../registry/people.ts';
import { venues } from '../registry/venues.ts';
import { calendarOf } from '../watch/calendar.ts';
import { endMessages } from '../watch/notify/end-messages.ts';
import { claimedPerson, type Purpose, readLink } from '../watch/notify/links.ts';
import { openCalls } from '../watch/open-calls.ts';
import type { AppDeps } from './handlers.ts';
import { plainPage } from './plain-page.ts';
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
    await endMessages(db, found.person, now());
    html(res, plainPage('Done', 'No more messages will be sent to you.', null));
  });
}
