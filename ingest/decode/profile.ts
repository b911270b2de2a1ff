/** How a gateway's payloads are read. Without a profile they are SenML, JSON or CBOR. */
import * as z from 'zod/mini';
import { quantities } from '../reading.ts';
import { fahrenheitToC } from '../units.ts';
import { isPointer } from './json-pointer.ts';

const quantity = z.enum(quantities, `must be one of ${quantities.join(', ')}`);
const units = ['Cel', 'K', 'degF', '%RH', '%EL', 'ratio'] as const;
const unit = z.enum(units, `must be one of ${units.join(', ')}`);
export type ProfileUnit = z.infer<typeof unit>;

/** Within one entry: a JSON Pointer. With ^ before it: within the whole document the entries stand in. */
const place = z.string().check(
  z.refine((text) => isPointer(text.replace(/^\^/, '')), 'must be a JSON Pointer such as /data/humidity'),
  z.maxLength(500, 'must have 500 characters at most'),
);

/** What is sent is multiplied by `scale`, and then in `unit`. */
const measure = {
  quantity,
  unit: z.optional(unit),
  scale: z.optional(
    z.number().check(z.refine((scale) => Number.isFinite(scale) && scale !== 0, 'must not be 0')),
  ),
};

const mapped = z.strictObject({
  kind: z.literal('mapped'),
  /** The array whose items are the entries; absent: the document is the one entry. */
  each: z.optional(place),
  /** Where the sensor's name stands; absent: the topic below readings/{gateway}, or the gateway's name. */
  sensor: z.optional(place),
  /** Put before that name. */
  prefix: z.optional(
    z
      .string()
      .check(
        z.regex(
          /^[A-Za-z0-9][A-Za-z0-9\-:./_]{0,99}$/,
          'must begin with a letter or digit and hold only letters, digits and - : . / _',
        ),
      ),
  ),
  /** Where the time of measuring stands; absent: when it was received. */
  time: z.optional(z.strictObject({ at: place, as: z.enum(['iso', 's', 'ms'], 'must be iso, s or ms') })),
  /** `where`: read only in entries where that text stands, for lists of a name and a value each. */
  values: z
    .array(
      z.strictObject({
        at: place,
        where: z.optional(z.strictObject({ at: place, is: z.string().check(z.maxLength(200)) })),
        ...measure,
      }),
    )
    .check(z.minLength(1, 'must name one value at least'), z.maxLength(50, 'must name 50 values at most')),
});

const plainValue = z.strictObject({
  kind: z.literal('plain-value'),
  /** Levels of the topic: {sensor}, {quantity}, + for any, or the level itself. */
  topic: z.string().check(
    z.refine(
      (text) =>
        text
          .split('/')
          .every(
            (level) =>
              level === '+' || level === '{sensor}' || level === '{quantity}' || /^[^{}+#]+$/.test(level),
          ),
      'must have levels such as house/{sensor}/{quantity}',
    ),
    z.refine(
      (text) => text.split('{sensor}').length === 2 && text.split('{quantity}').length === 2,
      'must have {sensor} and {quantity} once each',
    ),
  ),
  prefix: mapped.shape.prefix,
  /** What stands for {quantity}, and what it means. */
  quantities: z
    .record(z.string(), z.strictObject(measure))
    .check(z.refine((named) => Object.keys(named).length > 0, 'must name one quantity at least')),
});

export const profileSchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('senml') }),
  mapped,
  plainValue,
]);
export type Profile = z.infer<typeof profileSchema>;
export type MappedProfile = z.infer<typeof mapped>;
export type PlainValueProfile = z.infer<typeof plainValue>;

const fitting: Readonly<Record<(typeof quantities)[number], readonly ProfileUnit[]>> = {
  temperatureC: ['Cel', 'K', 'degF'],
  humidityPct: ['%RH', 'ratio'],
  batteryPct: ['%EL', 'ratio'],
};

/** @throws Error that names each faulty field */
export function readProfile(value: unknown): Profile {
  const result = z.safeParse(profileSchema, value);
  if (!result.success) {
    const kinds = 'kind: must be senml, mapped or plain-value';
    const faults = result.error.issues.map(({ code, path, message, ...issue }) => {
      if (code === 'invalid_union') return kinds;
      const keys = 'keys' in issue && Array.isArray(issue.keys) ? `: ${issue.keys.join(', ')}` : '';
      return `${path.join('.') || 'profile'}: ${message || 'is not as it should be'}${keys}`;
    });
    throw new Error(`This profile cannot be used: ${faults.join('; ')}.`);
  }
  const profile = result.data;
  if (profile.kind === 'senml') return profile;
  const measures = profile.kind === 'mapped' ? profile.values : Object.values(profile.quantities);
  for (const { quantity: of, unit: given } of measures) {
    if (given !== undefined && !fitting[of].includes(given)) {
      throw new Error(
        `This profile cannot be used: unit: ${given} is no unit of ${of}; ${fitting[of].join(', ')} are.`,
      );
    }
  }
  return profile;
}

/** A number as sent, in the unit it is kept in. */
export function converted(
  sent: number,
  {
    unit: given,
    scale = 1,
  }: { readonly unit?: ProfileUnit | undefined; readonly scale?: number | undefined },
): number {
  const value = sent * scale;
  if (given === 'degF') return fahrenheitToC(value);
  if (given === 'K') return value - 273.15;
  return given === 'ratio' ? value * 100 : value;
}
