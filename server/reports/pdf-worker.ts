import { parentPort } from 'node:worker_threads';
import { drawPdf, type PdfData, type PdfKind } from './draw.ts';

interface Order {
  readonly number: number;
  readonly kind: PdfKind;
  readonly data: PdfData<PdfKind>;
}

parentPort?.on('message', async ({ number, kind, data }: Order) => {
  try {
    parentPort?.postMessage({ number, bytes: await drawPdf(kind, data) });
  } catch (error) {
    parentPort?.postMessage({ number, why: error instanceof Error ? error.message : String(error) });
  }
});
