/** Labels for instruments: a code that opens the visit sheet, beside the name. For common label sheets, cut to size. */
import type { Content, TDocumentDefinitions } from 'pdfmake/interfaces.js';
import qrCode from 'pdfmake/js/qrEnc.js';
import type { LabelSheet } from '../contract/index.ts';
import { document } from './paper.ts';
import { runs } from './type.ts';

const mm = 72 / 25.4;

/** Measures in mm: labels across and down, size of one, its distance to the next, margins of the sheet. */
const sheets: Readonly<
  Record<
    LabelSheet,
    {
      readonly page: 'A4' | 'LETTER';
      readonly across: number;
      readonly down: number;
      readonly width: number;
      readonly height: number;
      readonly pitchX: number;
      readonly left: number;
      readonly top: number;
    }
  >
> = {
  'a4-21': { page: 'A4', across: 3, down: 7, width: 63.5, height: 38.1, pitchX: 66, left: 7.25, top: 15.15 },
  'a4-24': { page: 'A4', across: 3, down: 8, width: 70, height: 37, pitchX: 70, left: 0, top: 0.5 },
  'letter-30': {
    page: 'LETTER',
    across: 3,
    down: 10,
    width: 66.7,
    height: 25.4,
    pitchX: 69.85,
    left: 4.8,
    top: 12.7,
  },
};

export interface LabelData {
  readonly sheet: LabelSheet;
  readonly skip: number;
  readonly labels: readonly { readonly address: string; readonly name: string; readonly place: string }[];
}

export function labelPages({ sheet, skip, labels }: LabelData): TDocumentDefinitions {
  const { page, across, down, width, height, pitchX, left, top } = sheets[sheet];
  const perPage = across * down;
  const code = Math.min(height - 7, 26) * mm;
  const pad = 3.5 * mm;
  const pages = Math.max(1, Math.ceil((skip + labels.length) / perPage));
  const content: Content[] = [];
  for (let one = 0; one < pages; one++) {
    // Something must stand in the flow for the page to be there.
    content.push({ text: ' ', fontSize: 1, ...(one > 0 ? { pageBreak: 'before' as const } : {}) });
    labels.forEach((label, i) => {
      const at = skip + i - one * perPage;
      if (at < 0 || at >= perPage) return;
      const x = (left + (at % across) * pitchX) * mm;
      const y = (top + Math.floor(at / across) * height) * mm;
      const beside = width * mm - code - 3 * pad;
      content.push({
        svg: codeOf(label.address),
        alt: `Code that opens the visit sheet of ${label.name}`,
        width: code,
        absolutePosition: { x: x + pad, y: y + (height * mm - code) / 2 },
      } as Content);
      content.push({
        absolutePosition: { x: x + 2 * pad + code, y: y + (height * mm - code) / 2 },
        columns: [
          {
            width: beside,
            stack: [
              { text: runs(cut(label.name, 60), 'Serif'), fontSize: 9, bold: true },
              { text: runs(cut(label.place, 80)), fontSize: 7.5, color: '#56605b' },
            ],
          },
        ],
      });
    });
  }
  // Nothing but labels on the sheet: no foot.
  const { footer: _footer, ...plain } = document({
    title: 'Instrument labels',
    madeBy: 'crownwatch',
    content,
  });
  return {
    ...plain,
    pageSize: page,
    pageMargins: [0, 0, 0, 0],
  };
}

/** As one drawing of any size: drawn by pdfmake itself its squares are whole points, and it comes out half as wide. */
function codeOf(address: string): string {
  const { _canvas: parts, _width: width } = qrCode.default.measure({ qr: address, eccLevel: 'M' });
  const [_ground, ...squares] = parts;
  const path = squares.map(({ x, y, w, h }) => `M${x} ${y}h${w}v${h}h-${w}z`).join('');
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${width}"><path d="${path}" fill="#000000"/></svg>`;
}

const cut = (text: string, most: number): string =>
  text.length <= most ? text : `${text.slice(0, most - 1)}…`;
