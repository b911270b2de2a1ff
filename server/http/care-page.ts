/** The client's page, without an account and without script: what is true of the piano, what to do, and three answers. */
import { dayName } from '../watch/wording.ts';

export const escaped = (text: string): string =>
  text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');

export const careStyle = `:root{color-scheme:light dark;--paper:light-dark(#fbf9f4,#16181a);--ink:light-dark(#1e2422,#e9e6df);--ink-2:light-dark(#56605b,#a9b0ab);--rule:light-dark(#ddd8cc,#34393b);--accent:light-dark(#2f4b8f,#9db4ee);--accent-ink:light-dark(#fff,#10131c)}
*{box-sizing:border-box}body{margin:0;background:var(--paper);color:var(--ink);font:1.1rem/1.55 "Source Sans 3",system-ui,"DejaVu Sans",sans-serif}
main{max-width:36rem;margin:0 auto;padding:1.5rem 1.25rem 4rem}h1{font:600 2rem/1.2 "Source Serif 4",Georgia,"DejaVu Serif",serif;margin:.25rem 0 1rem;text-wrap:balance}
h2{font:600 1.2rem/1.3 "Source Serif 4",Georgia,"DejaVu Serif",serif;margin:2rem 0 .5rem}p{margin:.8rem 0}.quiet{color:var(--ink-2);font-size:.95rem}
.care{border-left:4px solid var(--ink-2);padding:.1rem 0 .1rem .9rem;font-size:1rem}form{display:grid;gap:.75rem;margin-top:1rem}
button{min-height:48px;padding:.5rem 1.1rem;font:600 1rem/1.3 inherit;font-family:inherit;border:1px solid var(--accent);border-radius:3px;background:none;color:var(--accent);cursor:pointer;text-align:left}
input{font:inherit;min-height:48px;padding:.4rem .7rem;border:1px solid var(--ink-2);border-radius:3px;background:var(--paper);color:var(--ink);width:100%}input[type=file]{border-style:dashed}label{display:grid;gap:.25rem;font-size:1rem}
.task{border-top:2px solid var(--ink);margin-top:1.75rem;padding-top:.1rem}.task h2{margin-top:.75rem}.trouble{border-left:4px solid var(--ink);padding:.2rem 0 .2rem .9rem;font-weight:600}.unseen{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
button.first{text-align:center;background:var(--accent);color:var(--accent-ink)}button:focus-visible,input:focus-visible{outline:3px solid var(--ink);outline-offset:2px}@media print{form{display:none}}`;

export const frame = (title: string, body: string): string =>
  `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1"><meta name="robots" content="noindex"><title>${escaped(title)}</title><link rel="stylesheet" href="/care.css"></head><body><main>${body}</main></body></html>`;

/** @param press what one button says; null where nothing is left to do */
export const plainPage = (title: string, sentence: string, press: string | null): string =>
  frame(
    title,
    `<h1>${escaped(title)}</h1><p>${escaped(sentence)}</p>${press ? `<form method="post"><button class="first">${escaped(press)}</button></form>` : ''}`,
  );

export interface CareNeeds {
  readonly piano: string;
  readonly sentences: readonly string[];
  readonly cautions: readonly string[];
  readonly dates: readonly number[];
  readonly lastTunedMs: number | null;
  readonly answered: {
    readonly answer: string;
    readonly dateMs: number | null;
    readonly atMs: number;
  } | null;
  readonly timeZone: string;
  readonly nowMs: number;
}

export function carePage(needs: CareNeeds): string {
  const { sentences, cautions, dates, timeZone, nowMs, answered } = needs;
  const [first, ...others] = sentences;
  const day = (ms: number) => dayName(ms, timeZone, nowMs);
  const title = first ? first.replace(/[.;].*$/, '') : 'Your piano is well looked after';
  const thanks = answered
    ? `<p class="quiet">You answered on ${day(answered.atMs)}: ${escaped(answered.dateMs ? `come on ${day(answered.dateMs)}` : answered.answer)}. Thank you.</p>`
    : '';
  const tuned = needs.lastTunedMs ? `<p class="quiet">Last tuned on ${day(needs.lastTunedMs)}.</p>` : '';
  const careful =
    cautions.length === 0
      ? ''
      : `<h2>Please take care</h2><div class="care">${cautions.map((one) => `<p>${escaped(one)}</p>`).join('')}</div>`;
  const choose = dates
    .map(
      (ms) =>
        `<form method="post"><input type="hidden" name="answer" value="date"><input type="hidden" name="date" value="${ms}"><button>Come on ${day(ms)}</button></form>`,
    )
    .join('');
  const answers = first
    ? `<h2>What shall happen?</h2><form method="post"><button class="first" name="answer" value="done">Done, it is seen to</button><button name="answer" value="call me">Please call me</button></form>${choose}`
    : '';
  return frame(
    title,
    `<p class="quiet">${escaped(needs.piano)}</p><h1>${escaped(title)}</h1>${first ? `<p>${escaped(first)}</p>` : '<p>Nothing needs doing. The air around it is being watched.</p>'}${others.map((one) => `<p>${escaped(one)}</p>`).join('')}${tuned}${thanks}${careful}${answers}`,
  );
}
