/** Which part of a whole a body is: Content-Range (RFC 9110, 14.4 and 14.5), with the whole's Repr-Digest (RFC 9530). */
import { BadRequest } from './problem.ts';

export interface Part {
  readonly fromByte: number;
  readonly totalBytes: number;
  readonly wholeSha256: string | null;
  readonly bytes: Buffer;
}

const bad = (field: string, words: string): BadRequest =>
  new BadRequest([{ field, sentence: `${field}: ${words}` }]);

/** @returns null where the body is the whole. @throws BadRequest */
export function partOf(range: string | undefined, digest: string | undefined, bytes: Buffer): Part | null {
  if (range === undefined) return null;
  const said = /^bytes (\d{1,10})-(\d{1,10})\/(\d{1,10})$/.exec(range.trim());
  if (!said) throw bad('Content-Range', 'must be like "bytes 0-65535/398000"');
  const [from = 0, last = 0, total = 0] = said.slice(1).map(Number);
  if (last < from || last >= total) throw bad('Content-Range', 'the part must lie within the whole');
  if (bytes.length !== last - from + 1) {
    throw bad('Content-Range', `says ${last - from + 1} bytes, and ${bytes.length} came`);
  }
  return { fromByte: from, totalBytes: total, wholeSha256: sha256In(digest), bytes };
}

/** Other algorithms than SHA-256 are let pass unread, as the standard wants. */
function sha256In(digest: string | undefined): string | null {
  const told = digest && /(?:^|[,\s])sha-256=:([A-Za-z0-9+/]{43}=):/.exec(digest)?.[1];
  return told ? Buffer.from(told, 'base64').toString('hex') : null;
}
