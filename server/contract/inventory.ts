/** An institution's inventory as CSV, looked at row by row before anything is kept; and where an instrument went. */
import * as z from 'zod/mini';
import { id, timeMs } from './quantities.ts';

export const inventoryCsv = z.object({
  csv: z.string().check(z.minLength(1), z.maxLength(900_000)),
  /** For rows that name no time zone. */
  timeZone: z.string().check(z.maxLength(60)),
});

export const inventoryRow = z.object({
  /** In the file, the heading being line 1. */
  line: z.int(),
  name: z.string(),
  place: z.string(),
  does: z.enum(['new', 'changes', 'same', 'faulty']),
  faults: z.array(z.object({ field: z.string(), sentence: z.string() })),
});
export type InventoryRow = z.infer<typeof inventoryRow>;

export const inventoryPreview = z.object({
  /** Faults of the file itself; empty where its rows could be read. */
  faults: z.array(z.object({ field: z.string(), sentence: z.string() })),
  rows: z.array(inventoryRow),
  newVenues: z.array(z.string()),
  newRooms: z.array(z.string()),
});
export type InventoryPreview = z.infer<typeof inventoryPreview>;

export const inventoryKept = z.object({ made: z.int(), changed: z.int(), left: z.int() });
export type InventoryKept = z.infer<typeof inventoryKept>;

/** A dated event in an instrument's life. Into a room, or out of the fleet. */
export const moveBody = z.object({
  instrumentId: id,
  atMs: timeMs,
  /** null: retired from then on. */
  roomId: z.nullable(id),
  words: z.string().check(z.maxLength(400)),
});
export type MoveBody = z.infer<typeof moveBody>;
export const move = z.extend(moveBody, { id });
export type Move = z.infer<typeof move>;
