/** A course as bytes: what is few as JSON, what is many as integers. Some 1.3 kB an instrument. */
import * as z from 'zod/mini';
import { airHours, type Course, calmHours } from './course.ts';
import { pinblockLength } from './pinblock.ts';

const condition = z.object({
  holds: z.boolean(),
  sinceMs: z.nullable(z.number()),
  quietMs: z.nullable(z.number()),
});
const small = z.object({
  version: z.literal(2),
  atMs: z.number(),
  temperatureC: z.nullable(z.number()),
  plateC: z.nullable(z.number()),
  marginK: z.nullable(z.number()),
  mould: z.object({ index: z.number(), dryHours: z.number() }),
  moisturePct: z.nullable(z.number()),
  referencePct: z.nullable(z.number()),
  conditions: z.record(z.string(), condition),
});

const ringBytes = 2 * (airHours + calmHours + pinblockLength);

export function packCourse({ air, calm, pinblock, ...rest }: Course): Uint8Array {
  const text = Buffer.from(JSON.stringify({ version: 2, ...rest }));
  const bytes = Buffer.alloc(ringBytes + text.length);
  bytes.set(new Uint8Array(air.buffer, air.byteOffset, air.byteLength), 0);
  bytes.set(new Uint8Array(calm.buffer, calm.byteOffset, calm.byteLength), 2 * airHours);
  const blockBytes = new Uint8Array(pinblock.buffer, pinblock.byteOffset, pinblock.byteLength);
  bytes.set(blockBytes, 2 * (airHours + calmHours));
  bytes.set(text, ringBytes);
  return bytes;
}

/** @returns null for bytes of another version: the course is then made anew from the readings. */
export function unpackCourse(bytes: Uint8Array): Course | null {
  if (bytes.byteLength <= ringBytes) return null;
  const text = Buffer.from(bytes.buffer, bytes.byteOffset + ringBytes, bytes.byteLength - ringBytes);
  const parsed = small.safeParse(json(text.toString()));
  if (!parsed.success) return null;
  // A copy: the bytes may stand at an odd place in a buffer shared with other rows.
  const copy = new Uint8Array(ringBytes);
  copy.set(bytes.subarray(0, ringBytes));
  const rings = new Int16Array(copy.buffer);
  const { version: _version, ...rest } = parsed.data;
  const ends = airHours + calmHours;
  return {
    ...rest,
    air: rings.subarray(0, airHours),
    calm: rings.subarray(airHours, ends),
    // Of its own: the others move on to tapes, and this one would hold all of it.
    pinblock: rings.slice(ends),
  };
}

/** Bytes of another version have their text elsewhere. */
function json(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
