/** The client's page, without an account and without script: what is true of the piano, what to do, and three answers. */
import { dayName } from '../watch/wording.ts';
import { escaped, frame } from './plain-page.ts';

export interface CareNeeds {
  readonly piano: string;
  readonly sentences: readonly string[];
  /** What to do in the house today. */
  readonly steps: readonly string[];
  readonly cautions: readonly string[];
  readonly dates: readonly number[];
  readonly lastTunedMs: number | null;
  readonly answered: {
    readonly answer: string;
    readonly dateMs: number | null;
    readonly atMs: number;
  } | null;
  /** What went wrong with the answer just given; null: nothing. */
  readonly trouble: string | null;
  readonly timeZone: string;
  readonly nowMs: number;
}

/** What a client answered, said back to them. */
const said: Readonly<Record<string, string>> = {
  done: 'that it is seen to',
  'call me': 'that you would like a call',
};

export function carePage(needs: CareNeeds): string {
  const { sentences, steps, cautions, dates, timeZone, nowMs, answered, trouble } = needs;
  const [first, ...others] = sentences;
  const day = (ms: number) => dayName(ms, timeZone, nowMs);
  const weekday = (ms: number) => new Intl.DateTimeFormat('en-GB', { weekday: 'long', timeZone }).format(ms);
  // The first clause is the heading; what follows it is not said twice.
  const cut = first ? first.search(/[:.;]/) : -1;
  const title = first ? first.slice(0, cut < 0 ? undefined : cut) : 'Your piano is well looked after';
  const rest = first && cut >= 0 ? capital(first.slice(cut + 1).trim()) : '';
  const lines = first
    ? [rest, ...others]
    : [
        'Nothing needs doing. The air around it is being watched, and you will hear when something is to be done.',
      ];
  const answer = answered
    ? `<p class="quiet" role="status">You answered on ${day(answered.atMs)}: ${
        answered.dateMs ? `${weekday(answered.dateMs)}, ${day(answered.dateMs)}` : said[answered.answer]
      }. Thank you; your technician has it.</p>`
    : '';
  const careful =
    cautions.length === 0
      ? ''
      : `<h2>Please take care</h2><div class="care">${cautions.map((one) => `<p>${escaped(one)}</p>`).join('')}</div>`;
  const choose =
    dates.length === 0
      ? ''
      : `<h2>When may your technician come?</h2><div class="dates">${dates
          .map(
            (ms) =>
              `<form method="post"><input type="hidden" name="answer" value="date"><input type="hidden" name="date" value="${ms}"><button>${weekday(ms)}, ${day(ms)}</button></form>`,
          )
          .join('')}</div><p class="quiet">Your technician confirms the day and the hour.</p>`;
  const answers = first
    ? '<h2>Or</h2><form method="post"><button class="first" name="answer" value="done">Done, it is seen to</button><button name="answer" value="call me">Please call me</button></form>'
    : '<form method="post"><button name="answer" value="call me">Please call me</button></form>';
  return frame(
    title,
    [
      `<p class="quiet">${escaped(needs.piano)}</p><h1>${escaped(title)}</h1>`,
      trouble === null ? '' : `<p class="trouble" role="alert">${escaped(trouble)}</p>`,
      ...lines.filter(Boolean).map((one) => `<p class="lead">${escaped(one)}</p>`),
      steps.length === 0
        ? ''
        : `<h2>What to do in the house today</h2>${steps.map((one) => `<p class="lead">${escaped(one)}</p>`).join('')}`,
      answer,
      careful,
      choose,
      choose === '' ? answers.replace('<h2>Or</h2>', first ? '<h2>Your answer</h2>' : '') : answers,
      needs.lastTunedMs ? `<p class="quiet">Last tuned on ${day(needs.lastTunedMs)}.</p>` : '',
    ].join(''),
  );
}

const capital = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);
