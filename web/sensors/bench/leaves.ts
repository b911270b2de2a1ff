/** The values of a message with where they stand, and a first guess of what they mean. Pure. */
import type { GatewayProfile } from '../../../server/contract/index.ts';

export interface Leaf {
  /** JSON Pointer (RFC 6901). */
  readonly at: string;
  readonly value: string | number | boolean | null;
}

type Mapped = Extract<GatewayProfile, { kind: 'mapped' }>;
type MappedValue = Mapped['values'][number];

const mostLeaves = 200;
const step = (key: string): string => `/${key.replaceAll('~', '~0').replaceAll('/', '~1')}`;
const isObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** @param skip a list that is read entry by entry, and so is not a place of the whole */
export function leavesOf(value: unknown, skip: string | null = null, at = ''): Leaf[] {
  if (at !== '' && at === skip) return [];
  if (Array.isArray(value)) {
    return value.slice(0, 20).flatMap((one, i) => leavesOf(one, skip, `${at}/${i}`));
  }
  if (isObject(value)) {
    return Object.entries(value)
      .flatMap(([key, one]) => leavesOf(one, skip, at + step(key)))
      .slice(0, mostLeaves);
  }
  return typeof value === 'string' ||
    typeof value === 'number' ||
    typeof value === 'boolean' ||
    value === null
    ? [{ at, value }]
    : [];
}

/** Lists of objects in a message, the outermost first: each may be a batch. */
export function listsOf(value: unknown, at = ''): string[] {
  if (Array.isArray(value)) return value.some(isObject) ? [at] : [];
  return isObject(value) ? Object.entries(value).flatMap(([key, one]) => listsOf(one, at + step(key))) : [];
}

/** What stands at a place; undefined where nothing does. */
export function foundAt(document: unknown, pointer: string): unknown {
  if (pointer === '') return document;
  let here: unknown = document;
  for (const raw of pointer.slice(1).split('/')) {
    const key = raw.replaceAll('~1', '/').replaceAll('~0', '~');
    if (Array.isArray(here)) here = here[Number(key)];
    else if (isObject(here) && Object.hasOwn(here, key)) here = here[key];
    else return undefined;
  }
  return here;
}

/** The last word of a key: "rh" of "air/rh". */
const lastOf = (at: string): string =>
  (at.replaceAll('~1', '/').replaceAll('~0', '~').split('/').at(-1) ?? '').toLowerCase();
const devices = /^(dev(ice)?[-_]?(id|eui|name|addr)?|eui|sensor([-_]?(id|name))?|mac|serial|node|id|name)$/;
const times = /^(time|timestamp|ts|at|date|datetime|[a-z]*[-_]?(time|at|on|ts|timestamp))$/;
const humidities = /hum|^rh$|^h$|feucht|moist|[-_]rh$/;
const temperatures = /temp|^t$|^ta$|[-_]t$/;
const batteries = /bat(t|tery)?([-_]?(level|pct|percent|soc))?$|^soc$/;

/** Hundredths and tenths are told by their size: no room is at 2130 °C. */
function scaleFor(value: number, most: number): number | undefined {
  const size = Math.abs(value);
  if (size <= most) return undefined;
  return size / 10 <= most ? 0.1 : 0.01;
}

function meaningOf({ at, value }: Leaf): MappedValue | null {
  const number = typeof value === 'number' ? value : typeof value === 'string' ? Number(value) : Number.NaN;
  if (value === '' || !Number.isFinite(number)) return null;
  const name = lastOf(at);
  const scaled = (most: number) => {
    const scale = scaleFor(number, most);
    return scale === undefined ? {} : { scale };
  };
  if (batteries.test(name)) {
    // Volts are no charge.
    if (!Number.isInteger(number) && number > 1.01 && number < 5) return null;
    if (number > 100) return null;
    return { at, quantity: 'batteryPct', ...(number > 0 && number <= 1 ? { unit: 'ratio' as const } : {}) };
  }
  if (humidities.test(name)) {
    const ratio = number > 0 && number <= 1;
    return { at, quantity: 'humidityPct', ...(ratio ? { unit: 'ratio' as const } : scaled(101)) };
  }
  if (temperatures.test(name)) {
    const fahrenheit = /(f|fahrenheit)$/.test(name);
    return {
      at,
      quantity: 'temperatureC',
      ...(fahrenheit ? { unit: 'degF' as const } : {}),
      ...scaled(fahrenheit ? 150 : 85),
    };
  }
  return null;
}

const rfc3339 = /^\d{4}-\d\d-\d\dT[\d:.]+(Z|[+-]\d\d:?\d\d)$/;

/** A text that is a time tells itself; a number has to be named like one. */
function timeOf(leaves: readonly Leaf[]): Mapped['time'] {
  const texts = leaves.filter(({ value }) => typeof value === 'string' && rfc3339.test(value));
  const text = texts.find(({ at }) => times.test(lastOf(at))) ?? texts[0];
  if (text) return { at: text.at, as: 'iso' };
  for (const { at, value } of leaves) {
    if (!times.test(lastOf(at)) || typeof value !== 'number') continue;
    if (value > 9e8 && value < 1e10) return { at, as: 's' };
    if (value > 9e11 && value < 1e13) return { at, as: 'ms' };
  }
  return undefined;
}

const deviceOf = (leaves: readonly Leaf[]): string | undefined =>
  leaves.find(
    ({ at, value }) => devices.test(lastOf(at)) && (typeof value === 'string' || Number.isInteger(value)),
  )?.at;

function valuesOf(leaves: readonly Leaf[]): MappedValue[] {
  const found: MappedValue[] = [];
  for (const leaf of leaves) {
    const meaning = meaningOf(leaf);
    if (meaning && !found.some(({ quantity }) => quantity === meaning.quantity)) found.push(meaning);
  }
  return found;
}

/** A profile that may fit a message; a person looks at what it makes of it before it is kept. */
export function guessProfile(document: unknown): GatewayProfile {
  const batch = listsOf(document).find((at) => {
    const list = foundAt(document, at);
    return Array.isArray(list) && valuesOf(leavesOf(list[0])).length > 0;
  });
  const list = batch === undefined ? undefined : foundAt(document, batch);
  const inEntry = leavesOf(Array.isArray(list) ? list[0] : document);
  const around = batch === undefined ? [] : leavesOf(document, batch === '' ? null : batch);
  const ofWhole = batch === '' ? [] : around;
  const outer = (at: string | undefined): string | undefined => (at === undefined ? undefined : `^${at}`);
  const sensor = deviceOf(inEntry) ?? outer(deviceOf(ofWhole));
  const inner = timeOf(inEntry);
  const whole = inner ? undefined : timeOf(ofWhole);
  const time = inner ?? (whole && { ...whole, at: `^${whole.at}` });
  return {
    kind: 'mapped',
    ...(batch === undefined ? {} : { each: batch }),
    ...(sensor === undefined ? {} : { sensor }),
    ...(time ? { time } : {}),
    values: valuesOf(inEntry),
  };
}
