/** One care note: its words filled in, its links and cautions, and put on its way with the log of what it told of. */
import type { CareSituation, CareWords } from '../../contract/index.ts';
import { type PersonRow, people } from '../../registry/people.ts';
import type { Viewer } from '../../registry/viewer.ts';
import { dayName } from '../wording.ts';
import { offeredDates } from './care-dates.ts';
import { signLink } from './links.ts';
import { logDelivery, putOutgoing } from './outgoing.ts';
import type { TellDeps } from './tell.ts';
import { linked, oneLine, wrapped } from './words.ts';

export interface CareMatter {
  readonly situation: CareSituation;
  readonly instrumentId: string;
  /** Room and piano as a person calls them. */
  readonly room: string;
  readonly instrument: string;
  /** What happened, in the client's words. */
  readonly what: string;
  /** Do hands have to come, and not before when? */
  readonly hands: boolean;
  readonly notBeforeMs: number | null;
  readonly cautions: readonly string[];
  /** What it tells of, so that the same is told once. */
  readonly about: string;
  readonly because: string;
}

export const filled = (template: string, values: Readonly<Record<string, string>>): string =>
  template
    .replaceAll(/\{(\w+)\}/g, (whole, key: string) => values[key] ?? whole)
    .replaceAll(/\n{3,}/g, '\n\n');

export async function sendCareNote(
  { db, publicUrl }: TellDeps,
  viewer: Viewer,
  person: PersonRow,
  matter: CareMatter,
  template: CareWords,
  nowMs: number,
): Promise<void> {
  const technician = (await people(db, viewer)).find((one) => one.body.role === 'technician');
  const { timeZone } = person.body;
  const dates = offeredDates(matter.notBeforeMs, timeZone, nowMs).map((one) => dayName(one, timeZone, nowMs));
  const link = publicUrl && `${publicUrl}/care/${signLink(person, 'care', matter.instrumentId)}`;
  const unsubscribe = publicUrl && `${publicUrl}/unsubscribe/${signLink(person, 'unsubscribe')}`;
  const answer = matter.hands
    ? 'Choose a date, tell me that it is done, or ask me to call'
    : 'Tell me that it is done, or ask me to call';
  const values = {
    client: person.body.name,
    instrument: matter.instrument,
    room: matter.room,
    what: matter.what,
    technician: technician?.body.name ?? 'Your piano technician',
    dates: matter.hands
      ? `Dates on which I could come: ${dates.join(', ')}.`
      : 'You need not do anything else.',
    link: link ? `${answer}: ${link}` : 'Just answer this message.',
  };
  const care =
    matter.cautions.length > 0
      ? `\n\nPlease take care:\n${matter.cautions.map((one) => `- ${one}`).join('\n')}`
      : '';
  const stop = unsubscribe ? `\n\nNo more of these notes: ${unsubscribe}` : '';
  const text = `${filled(template.words, values)}${care}${stop}`.replaceAll('\u00a0', ' ');
  const subject = oneLine(filled(template.subject, values));
  const html = wrapped(
    subject,
    text
      .split('\n\n')
      .map((part) => `<p style="margin:0 0 14px;white-space:pre-line">${linked(part)}</p>`)
      .join(''),
  );
  const body = {
    subject,
    text,
    html,
    fromName: technician?.body.name ?? null,
    replyTo: technician?.body.email ?? null,
    unsubscribe,
  };
  await db.transaction().execute(async (trx) => {
    const outgoingId = await putOutgoing(
      trx,
      {
        organisationId: viewer.organisationId,
        channel: 'email',
        kind: 'care note',
        personId: person.id,
        instrumentId: matter.instrumentId,
        address: person.body.email ?? '',
        because: matter.because,
        body: JSON.stringify(body),
      },
      nowMs,
    );
    const of = { organisationId: viewer.organisationId, outgoingId, personId: person.id };
    await logDelivery(trx, of, `care ${matter.about}`, `this was told to ${person.body.name}`, nowMs);
  });
}
