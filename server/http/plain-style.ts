/** How pages look that open by a link alone: the tokens of the app's own look, and its faces, from one small file. */
import { createRequire } from 'node:module';
import path from 'node:path';

const require = createRequire(import.meta.url);

function faceFile(face: string, weight: number): string {
  const folder = path.dirname(require.resolve(`@fontsource/${face}/package.json`));
  return path.join(folder, 'files', `${face}-latin-${weight}-normal.woff2`);
}

/** Served by these names and no others: no name from outside reaches the disk. */
export const faceFiles: ReadonlyMap<string, string> = new Map([
  ['sans-400.woff2', faceFile('source-sans-3', 400)],
  ['sans-600.woff2', faceFile('source-sans-3', 600)],
  ['serif-600.woff2', faceFile('source-serif-4', 600)],
]);

const face = (family: string, weight: number, file: string): string =>
  `@font-face { font-family: "${family}"; font-weight: ${weight}; font-display: swap; src: url(/faces/${file}) format("woff2") }`;

export const plainStyle = `
${face('Source Sans 3', 400, 'sans-400.woff2')}
${face('Source Sans 3', 600, 'sans-600.woff2')}
${face('Source Serif 4', 600, 'serif-600.woff2')}
:root {
  color-scheme: light dark;
  --paper: light-dark(#fbf9f4, #16181a);
  --sheet: light-dark(#ffffff, #1d2023);
  --ink: light-dark(#1e2422, #e9e6df);
  --ink-2: light-dark(#56605b, #a9b0ab);
  --rule: light-dark(#ddd8cc, #34393b);
  --rule-2: light-dark(#8f928a, #757b78);
  --accent: light-dark(#2f4b8f, #9db4ee);
  --accent-ink: light-dark(#ffffff, #10131c);
  --serif: "Source Serif 4", Georgia, "DejaVu Serif", serif;
}
* { box-sizing: border-box }
body {
  margin: 0; background: var(--paper); color: var(--ink);
  font: 1.1rem/1.5 "Source Sans 3", system-ui, "DejaVu Sans", sans-serif; font-variant-numeric: tabular-nums;
}
main { max-width: 38rem; margin: 0 auto; padding: 1.5rem 1.25rem 4rem }
h1 { font: 600 2rem/1.2 var(--serif); margin: .25rem 0 1rem; text-wrap: balance }
h2 { font: 600 1.25rem/1.3 var(--serif); margin: 2rem 0 .5rem }
p { margin: .7rem 0; text-wrap: pretty }
.lead { font-size: 1.2rem }
.quiet { color: var(--ink-2); font-size: 1rem }
.care { border-left: 4px solid var(--ink); padding: .1rem 0 .1rem 1rem; font-size: 1rem }
.trouble { border-left: 4px solid var(--ink); padding: .2rem 0 .2rem 1rem; font-weight: 600 }
form { display: grid; gap: .75rem; margin-top: .75rem }
button, input { min-height: 48px; border-radius: 3px; font: inherit }
button {
  padding: .4rem 1.1rem; border: 1px solid var(--rule-2); background: none; color: var(--accent);
  font-weight: 600; cursor: pointer;
}
button.first { border-color: var(--accent); background: var(--accent); color: var(--accent-ink) }
input { width: 100%; padding: .4rem .7rem; border: 1px solid var(--rule-2); background: var(--sheet); color: var(--ink) }
label { display: grid; gap: .2rem; font-size: 1rem; color: var(--ink-2) }
label + label { margin-top: .75rem }
summary { display: flex; align-items: center; min-height: 48px; color: var(--accent); cursor: pointer; text-decoration: underline }
:is(button, input, summary):focus-visible { outline: 3px solid var(--ink); outline-offset: 2px }
.task { border-top: 2px solid var(--ink); margin-top: 1.5rem }
.task h2 { margin-top: .75rem }
.task h2 + p { font-weight: 600 }
.dates { display: grid; gap: .75rem; grid-template-columns: repeat(auto-fit, minmax(10rem, 1fr)) }
.dates form { margin: 0 }
.unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%) }
@media print { form { display: none } }
`;
