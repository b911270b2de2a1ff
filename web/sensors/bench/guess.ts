/** A first guess of what a message means, for a person to look at before it is kept. Pure. */
import type { GatewayProfile } from '../../../server/contract/index.ts';
import { foundAt, isObject, type Leaf, lastOf, leavesOf, listsOf } from './leaves.ts';

type Mapped = Extract<GatewayProfile, { kind: 'mapped' }>;
type MappedValue = Mapped['values'][number];

const devices =
  /^(bn|(station|probe|unit|module|chip|esp\d*)[-_]?id|dev(ice)?[-_]?(id|eui|name|addr)?|eui|sensor([-_]?(id|name))?|mac|serial|node|id|name)$/;
const times = /^(time|timestamp|ts|at|date|datetime|[a-z]*[-_]?(time|at|on|ts|timestamp))$/;
const humidities = /hum|^rh$|^h$|feucht|moist|[-_]rh$/;
const temperatures = /temp|^t$|^ta$|[-_]t$/;
const batteries = /bat(t|tery)?([-_]?(level|pct|percent|soc))?$|^soc$/;

/** What a word says is measured. */
function quantityNamed(word: string): MappedValue['quantity'] | null {
  const name = word.toLowerCase();
  if (batteries.test(name)) return 'batteryPct';
  if (humidities.test(name)) return 'humidityPct';
  return temperatures.test(name) ? 'temperatureC' : null;
}

const isFahrenheit = (name: string): boolean => /(f|fahrenheit)$/i.test(name);

/** Hundredths and tenths are told by their size: no room is at 2130 °C. */
function scaleFor(value: number, most: number): number | undefined {
  const size = Math.abs(value);
  if (size <= most) return undefined;
  return size / 10 <= most ? 0.1 : 0.01;
}

function meaningOf({ at, value }: Leaf, called = lastOf(at)): MappedValue | null {
  const number = typeof value === 'number' ? value : typeof value === 'string' ? Number(value) : Number.NaN;
  if (value === '' || !Number.isFinite(number)) return null;
  const name = called.toLowerCase();
  const quantity = quantityNamed(name);
  const scaled = (most: number) => {
    const scale = scaleFor(number, most);
    return scale === undefined ? {} : { scale };
  };
  if (quantity === 'batteryPct') {
    // Volts are no charge.
    if (!Number.isInteger(number) && number > 1.01 && number < 5) return null;
    if (number > 100) return null;
    return { at, quantity, ...(number > 0 && number <= 1 ? { unit: 'ratio' as const } : {}) };
  }
  if (quantity === 'humidityPct') {
    const ratio = number > 0 && number <= 1;
    return { at, quantity, ...(ratio ? { unit: 'ratio' as const } : scaled(101)) };
  }
  if (quantity === 'temperatureC') {
    const fahrenheit = isFahrenheit(name);
    return {
      at,
      quantity,
      ...(fahrenheit ? { unit: 'degF' as const } : {}),
      ...scaled(fahrenheit ? 150 : 85),
    };
  }
  return null;
}

/** Keys of a number whose name stands beside it: {"type": "humidity", "value": 42}. */
const pairedNumber = /^(v|val|value|reading)$/;
const pairedName = /^(n|name|type|kind|quantity|measure(ment)?|parameter|(value|sensor)[-_]?type)$/;

/** Of one entry: a number called by the word beside it, which other entries may call otherwise. */
function pairOf(leaves: readonly Leaf[]): MappedValue | null {
  const number = leaves.find(({ at }) => pairedNumber.test(lastOf(at)));
  const name = leaves.find(
    ({ at, value }) => typeof value === 'string' && pairedName.test(lastOf(at)) && quantityNamed(value),
  );
  if (!number || !name) return null;
  const meaning = meaningOf(number, String(name.value));
  return meaning && { ...meaning, where: { at: name.at, is: String(name.value) } };
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

/** A name beside a value is the value's; and what is only called "id" may be the message's own number. */
function deviceOf(leaves: readonly Leaf[]): string | undefined {
  const isPair = leaves.some(({ at }) => pairedNumber.test(lastOf(at)));
  const named = leaves.filter(
    ({ at, value }) =>
      devices.test(lastOf(at)) &&
      (typeof value === 'string' || Number.isInteger(value)) &&
      !(isPair && pairedName.test(lastOf(at))),
  );
  return (named.find(({ at }) => !/^(id|name|node)$/.test(lastOf(at))) ?? named[0])?.at;
}

function valuesOf(leaves: readonly Leaf[]): MappedValue[] {
  const found: MappedValue[] = [];
  for (const leaf of leaves) {
    const meaning = meaningOf(leaf);
    if (meaning && !found.some(({ quantity }) => quantity === meaning.quantity)) found.push(meaning);
  }
  return found;
}

/** Values by their keys; else, over all entries, by the words beside them. */
function valuesIn(entries: readonly unknown[]): MappedValue[] {
  const byKey = valuesOf(leavesOf(entries[0]));
  if (byKey.length > 0) return byKey;
  const pairs = entries.flatMap((entry) => pairOf(leavesOf(entry)) ?? []);
  return pairs.filter((pair, i) => pairs.findIndex(({ where }) => where?.is === pair.where?.is) === i);
}

const entriesShown = 50;

/** A profile that may fit a message; a person looks at what it makes of it before it is kept. */
export function guessProfile(document: unknown): GatewayProfile {
  const entriesAt = (at: string): unknown[] => {
    const list = foundAt(document, at);
    return Array.isArray(list) ? list.slice(0, entriesShown) : [];
  };
  const batch = listsOf(document).find((at) => valuesIn(entriesAt(at)).length > 0);
  const entries = batch === undefined ? [document] : entriesAt(batch);
  const inEntry = leavesOf(entries[0]);
  const around = batch === undefined ? [] : leavesOf(document, batch === '' ? null : batch);
  const ofWhole = batch === '' ? [] : around;
  const outer = (at: string | undefined): string | undefined => (at === undefined ? undefined : `^${at}`);
  const device = deviceOf(inEntry);
  // A base name of SenML stands in the first record for all.
  const sensor = device === '/bn' && batch === '' ? '^/0/bn' : (device ?? outer(deviceOf(ofWhole)));
  const inner = timeOf(inEntry);
  const whole = inner ? undefined : timeOf(ofWhole);
  const time = inner ?? (whole && { ...whole, at: `^${whole.at}` });
  return {
    kind: 'mapped',
    ...(batch === undefined ? {} : { each: batch }),
    ...(sensor === undefined ? {} : { sensor }),
    ...(time ? { time } : {}),
    values: valuesIn(entries),
  };
}

/** The level of a topic that says what is measured; -1 where none does. */
const quantityAt = (levels: readonly string[]): number =>
  levels.findLastIndex((level) => quantityNamed(level) !== null);

/**
 * Where a message is one plain number, its topic says the rest; topics of its neighbours name the other quantities.
 * @returns null where no level of them names a quantity
 */
function guessPlainValue(topic: string, others: readonly string[]): GatewayProfile | null {
  const alike = [topic, ...others].map((one) => one.split('/'));
  const levels = alike.find((one) => one.length === alike[0]?.length && quantityAt(one) >= 0);
  if (!levels) return null;
  const [at, last] = [quantityAt(levels), levels.length - 1];
  const sensorAt = at === last ? last - 1 : last;
  if (sensorAt < 0) return null;
  // What stands in front is likely the same for all: a root, and with ours the gateway's name.
  const rooted = levels[0] === 'readings' ? 2 : 1;
  const pattern = levels.map((level, i) => {
    if (i === sensorAt) return '{sensor}';
    if (i === at) return '{quantity}';
    return i < rooted ? level : '+';
  });
  const words = alike.filter((one) => one.length === levels.length);
  const quantities = Object.fromEntries(
    words.flatMap((one) => {
      const word = one[at] ?? '';
      const quantity = quantityNamed(word);
      const fahrenheit = quantity === 'temperatureC' && isFahrenheit(word);
      return quantity === null
        ? []
        : [[word, { quantity, ...(fahrenheit ? { unit: 'degF' as const } : {}) }]];
    }),
  );
  return { kind: 'plain-value', topic: pattern.join('/'), quantities };
}

/** Whether it is SenML by its shape: then what is wrong lies in its values, and no guess is called for. */
export const looksLikeSenml = (document: unknown): boolean =>
  Array.isArray(document) &&
  document.some((one) => isObject(one) && ('bn' in one || ('n' in one && 'v' in one)));

/** Also with a comma, which is no JSON. */
const plainNumber = /^\s*[+-]?\d+(?:[.,]\d+)?\s*$/;

/**
 * How a message that nothing reads yet may be meant.
 * @param document the message, parsed; undefined where it is no JSON
 * @param others topics of messages beside it
 * @returns null where nothing can be guessed
 */
export function guessFor(
  text: string | null,
  document: unknown,
  topic: string,
  others: readonly string[],
): GatewayProfile | null {
  if (plainNumber.test(text ?? '')) return guessPlainValue(topic, others);
  return document === undefined ? null : guessProfile(document);
}
