/** What a venue plans and has: events that need a piano, humidity control fitted, the weather to come. */
import * as z from 'zod/mini';
import { humidityPct, id, name, temperatureC, timeMs, use } from './quantities.ts';

export const eventBody = z.object({
  venueId: id,
  name,
  startMs: timeMs,
  instrumentIds: z.array(id).check(z.minLength(1), z.maxLength(200)),
  /** The use whose tolerance it asks of them all; null or left out: what each piano's own use asks. */
  required: z.optional(z.nullable(use)),
});
export const event = z.extend(eventBody, { id });
export type Event = z.infer<typeof event>;

export const humidityControlBody = z
  .object({
    instrumentId: id,
    /** What it can do: add moisture, take it away, both. */
    kind: z.enum(['humidify', 'dehumidify', 'both']),
    setPct: humidityPct,
    sinceMs: timeMs,
    untilMs: z.nullable(timeMs),
  })
  .check(
    z.refine((one) => one.untilMs === null || one.untilMs > one.sinceMs, {
      message: 'must be later than sinceMs',
      path: ['untilMs'],
    }),
  );
export const humidityControl = z.intersection(humidityControlBody, z.object({ id }));
export type HumidityControl = z.infer<typeof humidityControl>;

/** The coming days at one venue, as a forecast service or a person says them; days are the venue's own. */
export const weatherBody = z.object({
  venueId: id,
  days: z
    .array(
      z
        .object({
          day: z.string().check(z.regex(/^\d{4}-\d{2}-\d{2}$/, 'must be a day such as 2026-12-24')),
          lowC: temperatureC,
          highC: temperatureC,
          /** Mean dew point of the day: what the outdoor air holds, however warm it gets. */
          dewPointC: temperatureC,
        })
        .check(
          z.refine((day) => day.lowC <= day.highC, { message: 'must not be above highC', path: ['lowC'] }),
          // Air cannot be damper than it is warm.
          z.refine((day) => day.dewPointC <= day.highC, {
            message: 'must not be above highC',
            path: ['dewPointC'],
          }),
        ),
    )
    .check(z.minLength(1), z.maxLength(21)),
});
export type WeatherBody = z.infer<typeof weatherBody>;

const weatherDay = z.object({
  day: z.string(),
  lowC: z.number(),
  highC: z.number(),
  dewPointC: z.number(),
});

/** What is known of the coming days at a venue, and what a frost in them would do. */
export const venueWeather = z.object({
  /** The venue's own today, YYYY-MM-DD. */
  today: z.string(),
  days: z.array(weatherDay),
  frost: z.nullable(
    z.object({
      what: z.string(),
      toDo: z.string(),
      cautions: z.array(z.string()),
      /** Those that can bear least first. */
      pianos: z.array(
        z.object({
          place: z.string(),
          humidityPct: z.number(),
          expectedPct: z.number(),
          /** Share of what its board may bear on the dry side, now. */
          dryShare: z.number(),
        }),
      ),
    }),
  ),
});
export type VenueWeather = z.infer<typeof venueWeather>;

const chance = z.nullable(z.number());

/** An event with how likely its pianos are to hold: tuned in time, and as things stand. null: it cannot be told yet. */
export const eventAhead = z.intersection(
  event,
  z.object({
    venueName: z.string(),
    timeZone: z.string(),
    /** When its pianos are tuned for it. */
    tuneMs: timeMs,
    tuned: chance,
    untuned: chance,
    sentence: z.string(),
    pianos: z.array(
      z.object({
        id,
        name: z.string(),
        roomName: z.string(),
        tuned: chance,
        untuned: chance,
        sentence: z.string(),
      }),
    ),
  }),
);
export type EventAhead = z.infer<typeof eventAhead>;
