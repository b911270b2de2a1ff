/** Cuts a file into parts of whole lines, a little at a time, so that neither page nor service is held by a long one. */

export interface Part {
  readonly text: string;
  /** From 1. */
  readonly firstLine: number;
  /** How much of the file has been read with it, bytes. */
  readonly doneBytes: number;
}

/** Some six hundred rows: the service reads and stores them within some twenty milliseconds. */
const sliceBytes = 16 * 1024;
const headBytes = 16 * 1024;

/** By its first bytes; what is not UTF-8 was written on an older machine. */
export async function encodingOf(file: Blob): Promise<'utf-8' | 'utf-16le' | 'windows-1252'> {
  const start = new Uint8Array(await file.slice(0, 16 * sliceBytes).arrayBuffer());
  if (start[0] === 0xff && start[1] === 0xfe) return 'utf-16le';
  try {
    // Its end may cut a letter in two.
    new TextDecoder('utf-8', { fatal: true }).decode(start, { stream: true });
    return 'utf-8';
  } catch {
    return 'windows-1252';
  }
}

/** How workbooks of spreadsheets begin: they are no text, whatever they are called. */
const workbooks = [
  [0x50, 0x4b, 0x03, 0x04],
  [0xd0, 0xcf, 0x11, 0xe0],
];

/** Why a file cannot be read as text at all; null where it may be. */
export async function noText(file: Blob): Promise<string | null> {
  if (file.size === 0) return 'This file is empty.';
  const start = new Uint8Array(await file.slice(0, 4).arrayBuffer());
  const isWorkbook = workbooks.some((sign) => sign.every((byte, i) => start[i] === byte));
  return isWorkbook
    ? 'This is a workbook (or an archive), not text: open it, save its sheet as CSV, and bring that in.'
    : null;
}

/** The beginning of a file, whole lines of it. */
export async function headOf(file: Blob): Promise<string> {
  for await (const { text } of partsOf(file, headBytes)) return text;
  return '';
}

export async function* partsOf(file: Blob, atLeast = sliceBytes / 2): AsyncGenerator<Part> {
  const decoder = new TextDecoder(await encodingOf(file));
  let rest = '';
  let line = 1;
  for (let at = 0; at < file.size; at += sliceBytes) {
    const bytes = await file.slice(at, at + sliceBytes).arrayBuffer();
    const isLast = at + sliceBytes >= file.size;
    rest += decoder.decode(bytes, { stream: !isLast });
    // A file of old machines may end its lines with a bare carriage return.
    const end = isLast ? rest.length : Math.max(rest.lastIndexOf('\n'), lastBareReturn(rest)) + 1;
    if (end === 0 || (end < atLeast && !isLast)) continue;
    const text = rest.slice(0, end);
    rest = rest.slice(end);
    if (text === '') continue;
    yield { text, firstLine: line, doneBytes: Math.min(file.size, at + sliceBytes) };
    line += text.split(/\r\n|\n|\r/).length - 1;
  }
}

/** One at the very end may be the half of a pair. */
function lastBareReturn(text: string): number {
  return text.includes('\n') ? -1 : text.slice(0, -1).lastIndexOf('\r');
}
