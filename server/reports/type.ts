/** Type on paper: the app's own faces; letters they lack come from a wide one, so that no name is lost. */
import { createRequire } from 'node:module';
import path from 'node:path';
import type { Content, TFontDictionary } from 'pdfmake/interfaces.js';

const require = createRequire(import.meta.url);
const folderOf = (file: string): string => path.dirname(require.resolve(file));

const sans = folderOf('@fontsource/source-sans-3/package.json');
const serif = folderOf('@fontsource/source-serif-4/package.json');
const wide = folderOf('pdfmake/package.json');

const face = (folder: string, name: string, part: string) => {
  const file = (weight: number, slope: string) =>
    path.join(folder, 'files', `${name}-${part}-${weight}-${slope}.woff`);
  return {
    normal: file(400, 'normal'),
    bold: file(600, 'normal'),
    italics: file(400, 'italic'),
    bolditalics: file(600, 'italic'),
  };
};
const roboto = (weight: string) => path.join(wide, 'fonts/Roboto', `Roboto-${weight}.ttf`);

export const fonts: TFontDictionary = {
  Sans: face(sans, 'source-sans-3', 'latin'),
  SansExt: face(sans, 'source-sans-3', 'latin-ext'),
  Serif: face(serif, 'source-serif-4', 'latin'),
  SerifExt: face(serif, 'source-serif-4', 'latin-ext'),
  Wide: {
    normal: roboto('Regular'),
    bold: roboto('Medium'),
    italics: roboto('Italic'),
    bolditalics: roboto('MediumItalic'),
  },
};

type Ranges = readonly (readonly [from: number, to: number])[];

/** What the packaged subsets hold, by Fontsource's own unicode ranges. */
const latin: Ranges = [
  [0x20, 0xff],
  [0x131, 0x131],
  [0x152, 0x153],
  [0x2bb, 0x2bc],
  [0x2c6, 0x2c6],
  [0x2da, 0x2da],
  [0x2dc, 0x2dc],
  [0x2000, 0x206f],
  [0x20ac, 0x20ac],
  [0x2122, 0x2122],
  [0x2191, 0x2191],
  [0x2193, 0x2193],
  [0x2212, 0x2212],
  [0x2215, 0x2215],
];
const latinExt: Ranges = [
  [0x100, 0x2ff],
  [0x1d00, 0x1dbf],
  [0x1e00, 0x1e9f],
  [0x1ef2, 0x1eff],
  [0x20a0, 0x20c0],
  [0x2113, 0x2113],
  [0x2c60, 0x2c7f],
  [0xa720, 0xa7ff],
];

const holds = (ranges: Ranges, letter: string): boolean => {
  const code = letter.codePointAt(0) ?? 0;
  return ranges.some(([from, to]) => code >= from && code <= to);
};

type Family = 'Sans' | 'Serif';

function fontFor(letter: string, family: Family): string {
  if (letter === '\n' || holds(latin, letter)) return family;
  return holds(latinExt, letter) ? `${family}Ext` : 'Wide';
}

/** Text as runs of one face each. Control characters, which no page shows, are left out. */
export function runs(text: string, family: Family = 'Sans'): { text: string; font: string }[] {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
  const clean = text.replace(/[\u0000-\u0008\u000b-\u001f\u007f]/g, '').replaceAll('\t', ' ');
  const found: { text: string; font: string }[] = [];
  for (const letter of clean) {
    const font = fontFor(letter, family);
    const last = found.at(-1);
    // A space goes with its neighbours.
    if (last && (last.font === font || letter === ' ')) last.text += letter;
    else found.push({ text: letter, font });
  }
  return found;
}

/** A paragraph of plain text. */
export const say = (text: string, style: object = {}): Content => ({ text: runs(text), ...style });

let headings = 0;
/** A heading that also stands among the bookmarks. */
export const heading = (text: string, level: 1 | 2 = 2): Content => {
  headings += 1;
  return {
    text: runs(text, 'Serif'),
    style: level === 1 ? 'title' : 'heading',
    outline: true,
    outlineText: text,
    outlineExpanded: true,
    id: `h${headings}`,
    headlineLevel: level,
  } as Content;
};
