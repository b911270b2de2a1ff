/** The sheet every report is printed on: measures, hairlines, tallies, foot. */
import type { Content, ContentCanvas, TableCell, TDocumentDefinitions } from 'pdfmake/interfaces.js';
import { runs } from './type.ts';

export const ink = '#1e2422';
export const ink2 = '#56605b';
export const rule = '#b9b3a4';
export const accent = '#2f4b8f';

export interface Sheet {
  readonly title: string;
  readonly madeBy: string;
  readonly content: Content[];
}

export function document({ title, madeBy, content }: Sheet): TDocumentDefinitions {
  return {
    info: { title, author: madeBy, creator: 'crownwatch', producer: 'crownwatch' },
    language: 'en-GB',
    displayTitle: true,
    pageSize: 'A4',
    pageMargins: [56, 52, 56, 60],
    defaultStyle: { font: 'Sans', fontSize: 10, lineHeight: 1.22, color: ink },
    styles: {
      title: { fontSize: 20, bold: true, margin: [0, 0, 0, 6], lineHeight: 1.1 },
      heading: { fontSize: 13, bold: true, margin: [0, 16, 0, 5] },
      lead: { fontSize: 12, margin: [0, 0, 0, 8] },
      small: { fontSize: 8.5, color: ink2 },
      quiet: { color: ink2 },
    },
    // A heading never ends a page.
    pageBreakBefore: (node, query) =>
      node.headlineLevel === 2 && query.getFollowingNodesOnPage().length === 0,
    footer: (page, pages) => ({
      margin: [56, 18, 56, 0],
      columns: [
        { text: runs(title), fontSize: 8.5, color: ink2 },
        { text: `${page} of ${pages}`, fontSize: 8.5, color: ink2, alignment: 'right', width: 50 },
      ],
    }),
    content,
  };
}

export const hairline = (width = 483): Content => ({
  canvas: [{ type: 'line', x1: 0, y1: 0, x2: width, y2: 0, lineWidth: 0.5, lineColor: rule }],
  margin: [0, 4, 0, 4],
});

/** Classes 0 to 3 as three strokes filled from the left; always beside their word. */
export function tally(value: number): ContentCanvas {
  return {
    canvas: [1, 2, 3].map((stroke, i) => ({
      type: 'rect' as const,
      x: i * 7,
      y: 2,
      w: 4,
      h: 9,
      lineWidth: 0.7,
      lineColor: ink,
      ...(stroke <= value ? { color: ink } : {}),
    })),
  };
}

/** Hairlines between rows, none around. */
export const rows = {
  hLineWidth: (i: number, node: { table: { body: unknown[][] } }) =>
    i === 0 || i === node.table.body.length ? 0 : 0.5,
  vLineWidth: () => 0,
  hLineColor: () => rule,
  paddingLeft: (i: number) => (i === 0 ? 0 : 6),
  paddingRight: () => 6,
  paddingTop: () => 3,
  paddingBottom: () => 3,
};

export function table(
  widths: (string | number)[],
  head: string[] | null,
  body: TableCell[][],
  more: { readonly rowHeads?: boolean } = {},
): Content {
  const heads = head
    ? [head.map((text): TableCell => ({ text: runs(text), fontSize: 8.5, color: ink2 }))]
    : [];
  return {
    table: { widths, headerRows: head ? 1 : 0, dontBreakRows: true, body: [...heads, ...body] },
    layout: rows,
    margin: [0, 0, 0, 4],
    ...more,
  } as Content;
}

/** Said beside the work it concerns. */
export function caution(sentences: readonly string[]): Content[] {
  if (sentences.length === 0) return [];
  return [
    {
      onlyPlaces: true,
      table: {
        widths: ['*'],
        body: [[{ stack: sentences.map((text) => ({ text: runs(text), margin: [0, 1, 0, 1] })) }]],
      },
      layout: {
        hLineWidth: () => 0,
        vLineWidth: (i: number) => (i === 0 ? 2 : 0),
        vLineColor: () => ink,
        paddingLeft: () => 8,
      },
      margin: [0, 4, 0, 6],
    } as Content,
  ];
}

export const disclaimers = [
  'This report tells what could be seen, measured and heard on the day, without taking apart more than it says. What was not examined is named; hidden faults cannot be excluded.',
  'Times and prices are estimates with their range, not offers, and hold for what was found; what comes to light during the work is told before it is done.',
  'Cautions are the usual ones and do not replace local codes. Mains wiring is for a licensed electrician, heating and ventilation for an HVAC engineer, moving for piano movers.',
];
