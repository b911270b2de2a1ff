/** The words of a message: subject, plain text and HTML that reads without images, in light and dark. Pure. */
import type { Notice, PersonBody } from '../../contract/index.ts';
import { byWeight, cautionsFor, isUrgent } from '../advice.ts';
import { dayName, hasPassed } from '../wording.ts';
import { briefly } from './briefly.ts';
import type { Plan } from './plan.ts';

export interface Words {
  readonly subject: string;
  readonly text: string;
  readonly html: string;
}

interface Section {
  readonly title: string;
  readonly items: readonly {
    readonly place: string;
    readonly sentences: readonly string[];
    /** What to do, on a line of its own; empty where that is said already. */
    readonly toDo: string;
    readonly now: boolean;
  }[];
}

type Telling = Extract<Plan, { begun: readonly Notice[] }>;

const sentencesFor = (role: PersonBody['role'], notice: Notice): string[] =>
  role === 'venue manager'
    ? [notice.toVenue || `${notice.what} Its technician knows of it.`]
    : [notice.what, notice.why];

function sectionsOf(plan: Telling, person: PersonBody, nowMs: number): Section[] {
  const item = (notice: Notice, more: string[] = []) => ({
    place: notice.place,
    sentences: [...sentencesFor(person.role, notice), ...more].filter(Boolean),
    toDo: person.role === 'venue manager' ? '' : notice.toDo,
    now: isUrgent(notice),
  });
  const since = (notice: Notice) => dayName(notice.beganMs, person.timeZone, nowMs);
  const known = plan.reminded.filter((one) => one.acknowledged !== null);
  const unknown = plan.reminded.filter((one) => one.acknowledged === null);
  return [
    { title: 'New', items: byWeight(plan.begun).map((one) => item(one)) },
    { title: 'Still open', items: unknown.map((one) => item(one, [`Open since ${since(one)}.`])) },
    {
      title: 'Acknowledged, not solved',
      items: known.map((one) => ({
        place: one.place,
        sentences: [
          `${briefly(one, person.role)}.`,
          `Since ${since(one)}${one.acknowledged?.note ? `; “${one.acknowledged.note}”` : ''}.`,
        ],
        toDo: '',
        now: false,
      })),
    },
    {
      title: 'Passed',
      items: plan.passed.map((one) => ({
        place: one.place,
        sentences: [`${briefly(one, person.role)}. ${overWords(one)}`],
        toDo: '',
        now: false,
      })),
    },
  ].filter((section) => section.items.length > 0);
}

/** No reason is better than one that says nothing. */
const overWords = ({ endedBecause }: Notice): string =>
  endedBecause === null || endedBecause === hasPassed ? 'That is over.' : `That is over: ${endedBecause}.`;

function subjectOf(plan: Telling, role: PersonBody['role']): string {
  const [first, ...others] = byWeight(plan.begun);
  if (first) {
    const now = plan.kind === 'at once' ? 'Now: ' : '';
    const more = others.length === 0 ? '' : ` and ${others.length} more`;
    return `${now}${first.place}: ${briefly(first, role)}${more}`;
  }
  if (plan.reminded.length > 0) {
    return plan.reminded.length === 1
      ? 'Still open: one notice'
      : `Still open: ${plan.reminded.length} notices`;
  }
  return plan.passed.length === 1 ? 'One notice has passed' : `${plan.passed.length} notices have passed`;
}

export function noticeWords(
  plan: Telling,
  person: PersonBody,
  links: { readonly page: string | null; readonly unsubscribe: string | null },
  nowMs: number,
): Words {
  const sections = sectionsOf(plan, person, nowMs);
  const cautions = [...new Set(plan.begun.flatMap((one) => cautionsFor(one.rule)))];
  const foot = [
    `This was sent because ${plan.because}.`,
    ...(links.page ? [`All of it: ${links.page}`] : []),
    ...(links.unsubscribe ? [`No more of these messages: ${links.unsubscribe}`] : []),
  ];
  const text = [
    ...sections.flatMap(({ title, items }) => [
      title.toUpperCase(),
      '',
      ...items.flatMap((one) => [
        `${one.now ? 'Now: ' : ''}${one.place}`,
        `  ${one.sentences.join(' ')}`,
        ...(one.toDo ? [`  To do: ${one.toDo}`] : []),
        '',
      ]),
    ]),
    ...(cautions.length > 0 ? ['BEFORE YOU BEGIN', '', ...cautions.map((one) => `- ${one}`), ''] : []),
    '--',
    ...foot,
  ].join('\n');
  const subject = oneLine(subjectOf(plan, person.role));
  return { subject, text: plain(text), html: page(subject, sections, cautions, foot) };
}

/** A subject is one line: a name with a line break in it cannot add a header. */
export const oneLine = (text: string): string => text.replaceAll(/[\r\n\t\u2028\u2029]+/g, ' ').slice(0, 180);
/** No-break spaces become spaces where text is wrapped by the reader. */
const plain = (text: string): string => text.replaceAll('\u00a0', ' ');

export const escaped = (text: string): string =>
  text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');

/**
 * Addresses become links: the words before one at the end of a line are what is pressed, since an address with a secret in
 * it reads like noise. One amid words stays to be read, and breaks anywhere rather than reach beyond a narrow screen.
 */
export const linked = (text: string): string =>
  escaped(text).replaceAll(
    /^(.+): (https?:\/\/[^\s<]+)$|https?:\/\/[^\s<]+/gm,
    (url, words?: string, after?: string) =>
      `<a href="${after ?? url}" style="color:inherit;overflow-wrap:anywhere">${words ?? url}</a>`,
  );

function page(
  subject: string,
  sections: readonly Section[],
  cautions: readonly string[],
  foot: readonly string[],
): string {
  const body = sections
    .map(
      ({ title, items }) =>
        `<h2 style="font:600 20px/1.3 Georgia,serif;margin:28px 0 4px">${escaped(title)}</h2>${items
          .map(
            (one) =>
              `<div style="border-top:1px solid #b9b3a6;padding:12px 0"><p style="margin:0;font-weight:600">${one.now ? '<span>Now: </span>' : ''}${escaped(one.place)}</p><p style="margin:4px 0 0">${escaped(one.sentences.join(' '))}</p>${one.toDo ? `<p style="margin:6px 0 0"><b>To do:</b> ${escaped(one.toDo)}</p>` : ''}</div>`,
          )
          .join('')}`,
    )
    .join('');
  const careful =
    cautions.length === 0
      ? ''
      : `<div style="border-left:4px solid #7a766c;padding:2px 0 2px 14px;margin:24px 0"><p style="margin:0 0 4px;font-weight:600">Before you begin</p>${cautions.map((one) => `<p style="margin:0 0 6px">${escaped(one)}</p>`).join('')}</div>`;
  return wrapped(
    subject,
    `${body}${careful}<p style="border-top:1px solid #b9b3a6;margin:28px 0 0;padding:12px 0;font-size:14px">${foot.map(linked).join('<br>')}</p>`,
  );
}

/** No background and no colour of its own: the reader's light or dark stays. Entitled like the message, for whoever hears it read. */
export const wrapped = (subject: string, body: string): string =>
  `<!doctype html><html lang="en"><head><meta charset="utf-8"><title>${escaped(subject)}</title><meta name="viewport" content="width=device-width"><meta name="color-scheme" content="light dark"><meta name="supported-color-schemes" content="light dark"></head><body style="margin:0;padding:20px"><div style="max-width:620px;margin:0 auto;overflow-wrap:break-word;font:16px/1.5 'Helvetica Neue',Arial,sans-serif">${body}</div></body></html>`;
