/** Routes that give or take files instead of JSON: photos, PDF, CSV. */
import * as z from 'zod/mini';
import { id, timeMs } from './quantities.ts';
import { photoReceipt, photoReceived } from './visit-sheet.ts';

/** A wanted moment in the query string. */
const queryTime = z.pipe(
  z.string().check(z.regex(/^\d{1,15}$/, 'must be milliseconds since 1970')),
  z.pipe(z.transform(Number), timeMs),
);

export const labelSheets = ['a4-21', 'a4-24', 'letter-30'] as const;
export type LabelSheet = (typeof labelSheets)[number];

export interface FileRoute {
  readonly method: 'get' | 'put';
  readonly path: string;
  readonly summary: string;
  readonly params?: z.ZodMiniType;
  readonly query?: z.ZodMiniType;
  /** Media type of what it gives. */
  readonly gives: 'application/pdf' | 'text/csv' | 'image/jpeg' | 'application/json';
  /** What a JSON answer looks like. */
  readonly answer?: z.ZodMiniType;
  readonly asks: 'person';
}

const yesNo = z.enum(['yes', 'no']);

export const fileRoutes = {
  putPhoto: {
    method: 'put',
    path: '/api/instruments/{id}/photos/{photoId}',
    summary:
      'Keep a photo (JPEG, PNG or WebP, at most 12 MB) under the id the device made; the same photo again is harmless. Position data are removed. With Content-Range (RFC 9110) it may come in parts, in order; Repr-Digest (RFC 9530, sha-256) of the whole is checked. Until it is whole, the answer tells how much of it has come.',
    params: z.object({ id, photoId: id }),
    gives: 'application/json',
    answer: z.union([photoReceipt, photoReceived]),
    asks: 'person',
  },
  taskPhoto: {
    method: 'get',
    path: '/api/venue-tasks/{id}/photo',
    summary: 'The photo that came with a ticked task, large or small',
    params: z.object({ id }),
    query: z.object({ size: z.optional(z.enum(['large', 'small'])) }),
    gives: 'image/jpeg',
    asks: 'person',
  },
  photo: {
    method: 'get',
    path: '/api/photos/{id}',
    summary: 'A photo, large or small',
    params: z.object({ id }),
    query: z.object({ size: z.optional(z.enum(['large', 'small'])) }),
    gives: 'image/jpeg',
    asks: 'person',
  },
  visitReport: {
    method: 'get',
    path: '/api/visits/{id}/report.pdf',
    summary: "A visit as the client's report, with or without prices",
    params: z.object({ id }),
    query: z.object({ prices: z.optional(yesNo) }),
    gives: 'application/pdf',
    asks: 'person',
  },
  seasonReport: {
    method: 'get',
    path: '/api/venues/{id}/season.pdf',
    summary: "A venue's season: its rooms' air, its instruments, the visits made",
    params: z.object({ id }),
    query: z.object({ from: z.optional(queryTime), to: z.optional(queryTime) }),
    gives: 'application/pdf',
    asks: 'person',
  },
  labels: {
    method: 'get',
    path: '/api/labels.pdf',
    summary: 'Labels whose code opens the visit sheet, for common label sheets',
    query: z.object({
      venue: z.optional(id),
      sheet: z.optional(z.enum(labelSheets)),
      /** Labels already used on the first sheet. */
      skip: z.optional(z.string().check(z.regex(/^\d{1,2}$/, 'must be a number from 0 to 99'))),
    }),
    gives: 'application/pdf',
    asks: 'person',
  },
  blankSheet: {
    method: 'get',
    path: '/api/blank-sheet.pdf',
    summary: 'The visit sheet on paper',
    query: z.object({ kind: z.enum(['grand', 'upright']) }),
    gives: 'application/pdf',
    asks: 'person',
  },
  inventoryCsv: {
    method: 'get',
    path: '/api/inventory.csv',
    summary: 'The inventory with condition classes; it can be imported again',
    gives: 'text/csv',
    asks: 'person',
  },
} as const satisfies Record<string, FileRoute>;
export type FileRoutes = typeof fileRoutes;
