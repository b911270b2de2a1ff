/** The visit sheet on paper, for a day without a phone: the same items in the same order, with room to write. */
import type { Content, TableCell, TDocumentDefinitions } from 'pdfmake/interfaces.js';
import { groupsFor, type Kind, normalWords, registers, stages } from '../contract/index.ts';
import { caution, document, rows } from './paper.ts';
import { upperFirst } from './said.ts';
import { heading, runs, say } from './type.ts';

/** Made anew each time: the printer notes the places of what it draws on the nodes themselves. */
const boxes = (): Content => ({
  canvas: [0, 1, 2, 3, 4].map((i) => ({
    type: 'rect' as const,
    x: i * 17,
    y: 1,
    w: 9,
    h: 9,
    lineWidth: 0.6,
    lineColor: '#1e2422',
  })),
});
const line = (label: string): TableCell[] => [say(label, { style: 'quiet' }), say('')];

export function blankSheet({ kind }: { readonly kind: Kind }): TDocumentDefinitions {
  const groups = groupsFor(kind);
  const cautions = new Set<string>();
  const pages = stages.flatMap((stage): Content[] => {
    const body = groups
      .filter((group) => group.stage === stage)
      .flatMap((group): TableCell[][] => [
        [{ text: runs(group.name), bold: true, colSpan: 4, margin: [0, 3, 0, 0] }, '', '', ''],
        ...group.items.map((item): TableCell[] => {
          if (item.caution) cautions.add(item.caution);
          const normal = normalWords(item, kind);
          return [
            say(item.name),
            boxes(),
            say(normal ? `_____ (${normal})` : '', { style: 'small' }),
            say(''),
          ];
        }),
      ]);
    if (body.length === 0) return [];
    return [
      heading(upperFirst(stage)),
      {
        rowHeads: true,
        table: {
          widths: [140, 82, 110, '*'],
          headerRows: 1,
          dontBreakRows: true,
          body: [
            ['Item', '0   1   2   3   n.e.', 'Measured (normal)', 'Words, notes'].map((text) => ({
              text,
              fontSize: 8.5,
              color: '#56605b',
            })),
            ...body,
          ],
        },
        layout: rows,
      } as Content,
    ];
  });
  return document({
    title: `Visit sheet, ${kind}`,
    madeBy: 'crownwatch',
    content: [
      heading(`Visit sheet: ${kind}`, 1),
      say('0 no symptoms, 1 minor, 2 moderate, 3 major, n.e. not examined.', { style: 'quiet' }),
      {
        table: {
          widths: [110, '*', 110, '*'],
          body: [
            [...line('Instrument'), ...line('Day, by')],
            [...line('Humidity, temperature'), ...line('Took')],
          ],
        },
        layout: rows,
      },
      ...pages,
      heading('Pitch, cents or Hz'),
      {
        rowHeads: true,
        table: {
          widths: [110, '*', '*'],
          headerRows: 1,
          body: [
            ['', 'As found', 'As left'],
            ...['A4', ...registers.map(upperFirst), 'Spread of unisons'].map((name) => [name, '', '']),
          ],
        },
        layout: rows,
      } as Content,
      heading('Work done, humidity control, what was reported'),
      ...[1, 2, 3, 4, 5, 6].map(
        (): Content => ({ canvas: [{ type: 'line', x1: 0, y1: 18, x2: 483, y2: 18, lineWidth: 0.4 }] }),
      ),
      heading('Cautions'),
      ...caution([...cautions]),
    ],
  });
}
