/** From a report's data to the bytes of its PDF. Takes some hundred milliseconds: call it in a worker thread. */
import { blankSheet } from './blank-sheet.ts';
import { labelPages } from './labels.ts';
import { print } from './press.ts';
import { seasonReport } from './season-report.ts';
import { visitReport } from './visit-report.ts';

/** Every kind of PDF: its data is plain, so that it can be handed to another thread. */
const kinds = { visit: visitReport, season: seasonReport, labels: labelPages, blank: blankSheet };

export type PdfKind = keyof typeof kinds;
export type PdfData<Kind extends PdfKind> = Parameters<(typeof kinds)[Kind]>[0];

export async function drawPdf<Kind extends PdfKind>(kind: Kind, data: PdfData<Kind>): Promise<Uint8Array> {
  const definition = (kinds[kind] as (data: PdfData<Kind>) => ReturnType<(typeof kinds)[Kind]>)(data);
  return print(definition);
}
