/** People who are told things, and what went out to them. Signing in comes later; here they have an address and hours. */
import * as z from 'zod/mini';
import { id, name, timeMs } from './quantities.ts';

const hour = z.int().check(z.gte(0), z.lte(23));
const isZone = (zone: string): boolean => {
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone });
    return true;
  } catch {
    return false;
  }
};

export const roles = ['technician', 'venue manager', 'client'] as const;

export const personBody = z
  .object({
    name,
    /** null: nothing is sent, the calendar still works. */
    email: z.nullable(z.email('must be an e-mail address')),
    role: z.enum(roles),
    language: z.enum(['en']),
    timeZone: z.string().check(z.refine(isZone, 'must be an IANA time zone such as Europe/Vienna')),
    /** The local hour at which what can wait is told, in one message. */
    digestHour: hour,
    /** Nothing but what may cost a board within the day is sent between these local hours; equal: no quiet hours. */
    quietFromHour: hour,
    quietUntilHour: hour,
    /** May anything come outside the digest? */
    atOnce: z.enum(['urgent', 'never']),
    /** Days after which what is still open is told once more; 0: never. */
    reminderDays: z.int().check(z.gte(0), z.lte(60)),
    /** What a venue manager looks after, and a client owns. A technician hears of everything. */
    venueIds: z.array(id),
    instrumentIds: z.array(id),
  })
  .check(
    z.refine((one) => one.role !== 'venue manager' || one.venueIds.length > 0, {
      message: 'must name at least one venue for a venue manager',
      path: ['venueIds'],
    }),
    z.refine((one) => one.role !== 'client' || one.instrumentIds.length > 0, {
      message: 'must name at least one instrument for a client',
      path: ['instrumentIds'],
    }),
  );
export type PersonBody = z.infer<typeof personBody>;

export const person = z.intersection(
  personBody,
  z.object({
    id,
    unsubscribedMs: z.nullable(timeMs),
    /** When the address of the calendar was made; null: there is none. The address itself is told once. */
    calendarMadeMs: z.nullable(timeMs),
  }),
);
export type Person = z.infer<typeof person>;

/** Told once, when it is made. `url` is whole where the service has a public address. */
export const calendarAddress = z.object({ path: z.string(), url: z.nullable(z.string()) });

export const webhookBody = z.object({
  url: z
    .url('must be an address such as https://example.org/notices')
    .check(z.refine((url) => /^https?:/.test(url), 'must begin with https:// or http://')),
  /** Shared with the receiver: signs every delivery. */
  secret: z.string().check(z.minLength(16), z.maxLength(200)),
});
export type WebhookBody = z.infer<typeof webhookBody>;
/** The secret is never told again. */
export const webhook = z.object({ id, url: z.string() });

export const message = z.object({
  id,
  channel: z.enum(['email', 'webhook']),
  kind: z.string(),
  to: z.string(),
  subject: z.string(),
  because: z.string(),
  madeMs: timeMs,
  /** waiting, sending; sent; refused by the other side; stuck after days of trying. */
  state: z.enum(['waiting', 'sending', 'sent', 'refused', 'stuck']),
  attempts: z.int(),
  nextMs: z.nullable(timeMs),
  lastError: z.nullable(z.string()),
});
export type Message = z.infer<typeof message>;

export const deliveryLog = z.object({
  messages: z.array(message),
  log: z.array(
    z.object({ atMs: timeMs, kind: z.string(), sentence: z.string(), to: z.nullable(z.string()) }),
  ),
});
export type DeliveryLog = z.infer<typeof deliveryLog>;

export const careSituations = [
  'hot dry winter',
  'damp summer',
  'humidity control dry',
  'moved piano',
  'tuning',
] as const;
export type CareSituation = (typeof careSituations)[number];
/** {words} in braces are filled in; see `carePlaceholders`. */
export const carePlaceholders = [
  'client',
  'instrument',
  'room',
  'what',
  'technician',
  'dates',
  'link',
] as const;

function faultIn(template: string): string | null {
  const names = [...template.matchAll(/\{([^{}]*)\}/g)].map(([, inner = '']) => inner);
  const unknown = names.find((one) => !(carePlaceholders as readonly string[]).includes(one));
  if (unknown !== undefined) return `has {${unknown}}; known are {${carePlaceholders.join('}, {')}}`;
  if (/[{}]/.test(template.replaceAll(/\{[^{}]*\}/g, ''))) return 'has a brace without its other half';
  return null;
}
const template = (longest: number) =>
  z.string().check(
    z.minLength(1),
    z.maxLength(longest),
    z.superRefine((text, context) => {
      const fault = faultIn(text);
      if (fault) context.addIssue({ code: 'custom', message: fault });
    }),
  );
export const careWordsBody = z.object({ subject: template(160), words: template(4000) });
export type CareWords = z.infer<typeof careWordsBody>;

export const careWordsPage = z.array(
  z.object({
    situation: z.enum(careSituations),
    words: careWordsBody,
    usual: careWordsBody,
    /** Whether they differ from the usual ones. */
    own: z.boolean(),
  }),
);
export type CareWordsPage = z.infer<typeof careWordsPage>;
