/** The parts of pdfmake that `press.ts` puts together itself. Not declared by its own types; the version is pinned. */
declare module 'pdfmake/js/PDFDocument.js' {
  import type { TFontDictionary } from 'pdfmake/interfaces.js';

  export interface PDFStructure {
    readonly dictionary: { readonly data: Record<string, unknown> };
    add(child: unknown): PDFStructure;
  }
  class PDFDocument {
    constructor(
      fonts: TFontDictionary,
      images: object,
      patterns: object,
      attachments: object,
      options: object,
      virtualFiles: null,
      localAccessPolicy: (file: string) => boolean,
    );
    readonly page: object;
    struct(type: string, options: { readonly alt?: string; readonly scope?: string }): PDFStructure;
    addStructure(root: PDFStructure): void;
    markStructureContent(type: string): unknown;
    markContent(type: 'Artifact', options: { readonly type: string }): void;
    endMarkedContent(): void;
    on(what: 'data', listen: (chunk: Uint8Array) => void): void;
    on(what: 'end', listen: () => void): void;
    on(what: 'error', listen: (error: Error) => void): void;
    end(): void;
  }
  const inside: { readonly default: typeof PDFDocument };
  export default inside;
  export type { PDFDocument };
}

declare module 'pdfmake/js/LayoutBuilder.js' {
  class LayoutBuilder {
    constructor(size: object, margins: object, svgMeasure: object);
    registerTableLayouts(layouts: object): void;
    /** Positional, as pdfmake's own printer calls it: content, document, styles … */
    layoutDocument(...parts: readonly unknown[]): object[];
  }
  const inside: { readonly default: typeof LayoutBuilder };
  export default inside;
}

declare module 'pdfmake/js/Renderer.js' {
  import type { PDFDocument } from 'pdfmake/js/PDFDocument.js';

  /** What is drawn keeps every property of the node it came from. */
  export interface Drawn {
    readonly part?: unknown;
    readonly inlines?: readonly { readonly part?: unknown }[];
  }
  class Renderer {
    constructor(document: PDFDocument, progress?: undefined);
    renderPages(pages: readonly object[]): void;
    renderLine(line: Drawn, x: number, y: number): void;
    renderVector(vector: Drawn): void;
    renderImage(image: Drawn): void;
    renderSVG(svg: Drawn): void;
  }
  const inside: { readonly default: typeof Renderer };
  export default inside;
}

declare module 'pdfmake/js/SVGMeasure.js' {
  const inside: { readonly default: new () => object };
  export default inside;
}

declare module 'pdfmake/js/tableLayouts.js' {
  const inside: { readonly tableLayouts: object };
  export default inside;
}

declare module 'pdfmake/js/PageSize.js' {
  const inside: {
    normalizePageSize(
      size: unknown,
      orientation?: unknown,
    ): { readonly width: number; readonly height: number };
    normalizePageMargin(margins: unknown): object;
  };
  export default inside;
}

declare module 'pdfmake/js/qrEnc.js' {
  interface Square {
    readonly x: number;
    readonly y: number;
    readonly w: number;
    readonly h: number;
  }
  const inside: {
    readonly default: {
      /** Its ground first, then its dark squares. */
      measure(node: { readonly qr: string; readonly eccLevel: 'L' | 'M' | 'Q' | 'H' }): {
        readonly _canvas: readonly Square[];
        readonly _width: number;
      };
    };
  };
  export default inside;
}
