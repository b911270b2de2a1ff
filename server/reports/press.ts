/**
 * Lays out and draws a page as pdfmake's own printer does, and marks what is drawn with the part of the page it
 * belongs to, so that the PDF is a tagged one. Foot, hairlines and tallies are marked as decoration: their words stand beside them.
 */
import type { TDocumentDefinitions } from 'pdfmake/interfaces.js';
import layoutBuilder from 'pdfmake/js/LayoutBuilder.js';
import pageSize from 'pdfmake/js/PageSize.js';
import pdfDocument, { type PDFDocument, type PDFStructure } from 'pdfmake/js/PDFDocument.js';
import renderer, { type Drawn } from 'pdfmake/js/Renderer.js';
import svgMeasure from 'pdfmake/js/SVGMeasure.js';
import layouts from 'pdfmake/js/tableLayouts.js';
import { type Part, structureOf } from './structure.ts';
import { fonts } from './type.ts';

/** Elements of the document by the part they stand for. */
function elementsOf(document: PDFDocument, whole: Part): Map<Part, PDFStructure> {
  const elements = new Map<Part, PDFStructure>();
  const make = (part: Part): PDFStructure => {
    const { type, alt, scope, colSpan, children } = part;
    const element = document.struct(type, { ...(alt ? { alt } : {}), ...(scope ? { scope } : {}) });
    if (colSpan) {
      const before = element.dictionary.data.A as object | undefined;
      element.dictionary.data.A = { O: 'Table', ...before, ColSpan: colSpan };
    }
    elements.set(part, element);
    for (const child of children) element.add(make(child));
    return element;
  };
  document.addStructure(make(whole));
  return elements;
}

class MarkingRenderer extends renderer.default {
  readonly #document: PDFDocument;
  readonly #elements: ReadonlyMap<unknown, PDFStructure>;
  /** Where a column's head was drawn first: on later pages it is repeated, and repetitions are decoration. */
  readonly #firstPage = new Map<unknown, object>();

  constructor(document: PDFDocument, elements: ReadonlyMap<unknown, PDFStructure>) {
    super(document);
    this.#document = document;
    this.#elements = elements;
  }

  #mark(part: unknown, draw: () => void): void {
    const document = this.#document;
    const element = this.#elements.get(part);
    const { type, scope } = (part ?? {}) as Partial<Part>;
    const first = this.#firstPage.get(part) ?? document.page;
    if (element && type && (scope !== 'Column' || first === document.page)) {
      this.#firstPage.set(part, first);
      element.add(document.markStructureContent(type));
    } else document.markContent('Artifact', { type: 'Layout' });
    draw();
    document.endMarkedContent();
  }

  override renderLine(line: Drawn, x: number, y: number): void {
    this.#mark(line.inlines?.[0]?.part, () => super.renderLine(line, x, y));
  }
  override renderVector(vector: Drawn): void {
    this.#mark(undefined, () => super.renderVector(vector));
  }
  override renderImage(image: Drawn): void {
    this.#mark(image.part, () => super.renderImage(image));
  }
  override renderSVG(svg: Drawn): void {
    this.#mark(svg.part, () => super.renderSVG(svg));
  }
}

/** Of files only the faces are read, and nothing is fetched. */
const onlyFaces = (file: string): boolean => /\.(woff|ttf)$/.test(file);

/** pdfmake writes what it finds out on the definition: give it one of its own. */
export function print(definition: TDocumentDefinitions): Promise<Uint8Array> {
  const { info = {}, language, styles, defaultStyle, footer, pageBreakBefore, content } = definition;
  const { width, height } = pageSize.normalizePageSize(definition.pageSize);
  const named = Object.entries(info).map(([key, value]) => [
    key.charAt(0).toUpperCase() + key.slice(1),
    value,
  ]);
  const document = new pdfDocument.default(
    fonts,
    {},
    {},
    {},
    {
      size: [width, height],
      pdfVersion: '1.7',
      tagged: true,
      displayTitle: true,
      compress: true,
      lang: language,
      fontLayoutCache: true,
      bufferPages: false,
      autoFirstPage: false,
      info: Object.fromEntries(named),
      font: null,
    },
    null,
    onlyFaces,
  );
  const whole = structureOf(content);
  const margins = pageSize.normalizePageMargin(definition.pageMargins);
  const layout = new layoutBuilder.default({ width, height }, margins, new svgMeasure.default());
  layout.registerTableLayouts(layouts.tableLayouts);
  const pages = layout.layoutDocument(
    content,
    document,
    styles ?? {},
    defaultStyle,
    undefined,
    undefined,
    footer,
    undefined,
    pageBreakBefore,
  );
  return new Promise((resolve, reject) => {
    const chunks: Uint8Array[] = [];
    document.on('data', (chunk) => chunks.push(chunk));
    document.on('error', reject);
    document.on('end', () => resolve(Buffer.concat(chunks)));
    new MarkingRenderer(document, elementsOf(document, whole)).renderPages(pages);
    document.end();
  });
}
