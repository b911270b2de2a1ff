/** The fleet by condition, and one instrument's inspections side by side. */
import * as z from 'zod/mini';
import { class0to3, id, timeMs, use } from './quantities.ts';

export const bodyParts = ['belly', 'pinblock', 'action', 'case'] as const;

export const fleetRow = z.object({
  instrumentId: id,
  name: z.string(),
  kind: z.enum(['grand', 'upright']),
  venueName: z.string(),
  roomName: z.string(),
  use,
  year: z.nullable(z.int()),
  ageYears: z.nullable(z.int()),
  inspectedMs: z.nullable(timeMs),
  /** Worst open condition class of each; null: never inspected. */
  classes: z.object({
    belly: z.nullable(class0to3),
    pinblock: z.nullable(class0to3),
    action: z.nullable(class0to3),
    case: z.nullable(class0to3),
  }),
  /** What the climate does to it, 0 to 3: class of its board now, raised by findings that bear humidity badly. */
  climateRisk: z.nullable(class0to3),
  /** use × condition × climate, 0 to 100; null where the condition is unknown. */
  priority: z.nullable(z.number()),
  openRemarks: z.int(),
});
export type FleetRow = z.infer<typeof fleetRow>;

export const itemOverYears = z.object({
  itemId: z.string(),
  name: z.string(),
  assembly: z.string(),
  /** One entry a visit of `visits`, in its order; null: not looked at. */
  grades: z.array(
    z.nullable(
      z.object({
        conditionClass: class0to3,
        words: z.string(),
        measured: z.nullable(z.object({ value: z.number(), unit: z.string() })),
        against: z.nullable(z.enum(['normal', 'low', 'high'])),
      }),
    ),
  ),
});
export const comparison = z.object({
  instrumentId: id,
  name: z.string(),
  /** Oldest first. */
  visits: z.array(z.object({ id, atMs: timeMs })),
  items: z.array(itemOverYears),
});
export type Comparison = z.infer<typeof comparison>;
