/** Draws PDFs in a worker thread, so that readings and pages never wait for one. The thread begins with the first. */
import { Worker } from 'node:worker_threads';
import type { PdfData, PdfKind } from './draw.ts';

interface Waiting {
  readonly resolve: (bytes: Buffer) => void;
  readonly reject: (error: Error) => void;
}

let worker: Worker | null = null;
let number = 0;
const waiting = new Map<number, Waiting>();

function failAll(why: string): void {
  worker = null;
  for (const one of waiting.values()) one.reject(new Error(why));
  waiting.clear();
}

function start(): Worker {
  const one = new Worker(new URL('./pdf-worker.js', import.meta.url));
  // A thread at rest does not keep the service from ending.
  one.unref();
  one.on('message', (answer: { number: number; bytes?: Uint8Array; why?: string }) => {
    const asked = waiting.get(answer.number);
    waiting.delete(answer.number);
    if (answer.bytes) asked?.resolve(Buffer.from(answer.bytes));
    else asked?.reject(new Error(`a report could not be drawn: ${answer.why ?? ''}`));
  });
  one.on('error', (error) => failAll(`the thread that draws reports ended: ${error.message}`));
  one.on('exit', () => failAll('the thread that draws reports ended'));
  return one;
}

/** @throws Error when it cannot be drawn, which is a fault of ours. */
export function pdf<Kind extends PdfKind>(kind: Kind, data: PdfData<Kind>): Promise<Buffer> {
  worker ??= start();
  number += 1;
  const mine = number;
  return new Promise((resolve, reject) => {
    waiting.set(mine, { resolve, reject });
    worker?.postMessage({ number: mine, kind, data });
  });
}
