/**
 * What the parts of a page are, for whoever hears it instead of seeing it: headings, paragraphs, lists, tables with the
 * heads of their columns and rows, figures with words. Standard structure types of ISO 32000-1, 14.8.4.
 */
import type { Content } from 'pdfmake/interfaces.js';

export type PartType =
  | 'Document'
  | 'H1'
  | 'H2'
  | 'P'
  | 'L'
  | 'LI'
  | 'LBody'
  | 'Table'
  | 'TR'
  | 'TH'
  | 'TD'
  | 'Figure'
  | 'Div';

export interface Part {
  readonly type: PartType;
  /** Words for a figure. */
  readonly alt?: string;
  readonly scope?: 'Column' | 'Row';
  readonly colSpan?: number;
  readonly children: Part[];
}

/** What our own pages are made of; pdfmake's types are wider than what the walk needs. */
interface Node {
  text?: string | Run[];
  part?: Part;
  readonly headlineLevel?: number;
  readonly stack?: Piece[];
  readonly columns?: Piece[];
  readonly ul?: Piece[];
  readonly table?: { readonly headerRows?: number; readonly body: Piece[][] };
  readonly svg?: string;
  readonly image?: string;
  /** Words for a drawing or a picture; without them it is decoration. */
  readonly alt?: string;
  readonly colSpan?: number;
  /** A table that only sets things in place. */
  readonly onlyPlaces?: boolean;
  /** The first cell of each row says what the row is about. */
  readonly rowHeads?: boolean;
}
type Run = { text: string; part?: Part };
type Piece = string | Node | Piece[];

const newPart = (parent: Part, type: PartType, more: Partial<Part> = {}): Part => {
  const part: Part = { type, children: [], ...more };
  parent.children.push(part);
  return part;
};

/** Every run carries its part, since only runs reach the lines that are drawn. */
function markText(node: Node, part: Part): void {
  const { text } = node;
  if (typeof text === 'string') node.text = [{ text, part }];
  else for (const run of text ?? []) run.part = part;
}

function cell(piece: Piece, row: Part, type: 'TH' | 'TD', scope: 'Column' | 'Row' | null): Piece {
  const node = typeof piece === 'string' ? { text: piece } : piece;
  const colSpan = Array.isArray(node) ? undefined : node.colSpan;
  const part = newPart(row, type, { ...(scope ? { scope } : {}), ...(colSpan ? { colSpan } : {}) });
  if (!Array.isArray(node) && node.text !== undefined) markText(node, part);
  else walk(node, part);
  return node;
}

function table(node: Node, parent: Part): void {
  const { headerRows = 0, body = [] } = node.table ?? {};
  if (node.onlyPlaces) {
    const part = newPart(parent, 'Div');
    for (const row of body) for (const piece of row) walk(piece, part);
    return;
  }
  const part = newPart(parent, 'Table');
  body.forEach((row, i) => {
    const line = newPart(part, 'TR');
    let spanned = 0;
    row.forEach((piece, j) => {
      // What a wide cell covers is not a cell of its own.
      if (spanned > 0) {
        spanned -= 1;
        return;
      }
      if (typeof piece === 'object' && !Array.isArray(piece)) spanned = (piece.colSpan ?? 1) - 1;
      const rowHead = spanned > 0 || (node.rowHeads === true && j === 0);
      const scope = i < headerRows ? 'Column' : rowHead ? 'Row' : null;
      row[j] = cell(piece, line, scope ? 'TH' : 'TD', scope);
    });
  });
}

function walk(piece: Piece, parent: Part): void {
  if (typeof piece === 'string') return;
  if (Array.isArray(piece)) {
    for (const one of piece) walk(one, parent);
    return;
  }
  const { stack, columns, ul, headlineLevel, alt } = piece;
  if (piece.text !== undefined) {
    markText(piece, newPart(parent, headlineLevel === 1 ? 'H1' : headlineLevel === 2 ? 'H2' : 'P'));
  } else if (piece.table) table(piece, parent);
  else if (ul) {
    const list = newPart(parent, 'L');
    for (const one of ul) walk(one, newPart(newPart(list, 'LI'), 'LBody'));
  } else if (stack ?? columns) walk(stack ?? columns ?? [], parent);
  else if (alt !== undefined) piece.part = newPart(parent, 'Figure', { alt });
}

/** Notes on the pieces themselves which part of the page they are. @returns the whole, in reading order. */
export function structureOf(content: Content): Part {
  const whole: Part = { type: 'Document', children: [] };
  walk(content as Piece, whole);
  return whole;
}
