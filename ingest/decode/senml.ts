/**
 * SenML, JSON or CBOR: a pack of records with base fields, resolved to records that each stand alone.
 *
 * @source RFC 8428 section 4 (base fields 4.1, regular fields 4.2, names 4.5.1, times 4.5.3, resolved records 4.6)
 */
import { looksLikeCborArray, readCborPack } from './cbor.ts';

export interface SenmlRecord {
  /** bn and n, joined. */
  readonly n: string;
  readonly u?: string;
  /** Unix seconds; never relative. */
  readonly t: number;
  /** bv + v; absent where the record holds text, a switch or data. */
  readonly v?: number;
  /** Where it stood in the pack, from 1. */
  readonly position: number;
}

export interface Unresolved {
  readonly position: number;
  readonly reason: 'not-senml' | 'no-value';
  readonly sentence: string;
}

/** The whole pack cannot be read. */
export interface PackFault {
  readonly reason: 'not-json' | 'not-cbor' | 'not-senml';
  readonly sentence: string;
}

export type Resolved =
  | {
      readonly records: SenmlRecord[];
      readonly unresolved: Unresolved[];
      /** Records that hold a text, a switch or data, and no unit that would make it a fault. */
      readonly withoutNumber: number;
    }
  | PackFault;

/** Times below 2^28 seconds are relative to now (section 4.5.3). */
const firstAbsoluteS = 2 ** 28;
/** Version 10 is RFC 8428; bit 4 on top of it announces secondary units (RFC 9100, from memory), none of which we take. */
const newerVersions = new Set([26]);
const baseVersion = 10;

export const longestName = 200;
const wellNamed = /^[A-Za-z0-9][A-Za-z0-9\-:./_]*$/;

export const isName = (name: string): boolean => name.length <= longestName && wellNamed.test(name);

const utf8 = new TextDecoder('utf-8', { fatal: true });

/** The fields of section 4, and what each must be; the value fields are looked at where the value is made. */
const fieldTypes: ReadonlyMap<string, 'number' | 'string' | 'value'> = new Map([
  ...(['bt', 'bv', 'bs', 'bver', 't', 'ut', 's'] as const).map((label) => [label, 'number'] as const),
  ...(['bn', 'bu', 'n', 'u'] as const).map((label) => [label, 'string'] as const),
  ...(['v', 'vs', 'vb', 'vd'] as const).map((label) => [label, 'value'] as const),
]);

type Fields = Record<string, unknown>;

const isFields = (value: unknown): value is Fields =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

interface Looked {
  /** A field that must be understood and is not. */
  mustKnow?: string;
  /** A faulty base field would put every later record in the wrong place. */
  baseFault?: string;
  fault?: string;
  /** It has fields of its own, not only bases for those to come. */
  measures: boolean;
}

function look(record: Fields): Looked {
  const looked: Looked = { measures: false };
  for (const label of Object.keys(record)) {
    const type = fieldTypes.get(label);
    if (type === undefined) {
      // Section 4.4: who does not understand a field ending in "_" must not use the pack.
      if (label.endsWith('_')) looked.mustKnow = label.slice(0, 40);
      continue;
    }
    const isBase = label.startsWith('b');
    if (!isBase) looked.measures = true;
    if (type === 'value' || typeof record[label] === type) continue;
    const fault = `“${label}” is not a ${type === 'number' ? 'number' : 'text'}`;
    if (isBase) looked.baseFault ??= fault;
    else looked.fault ??= fault;
  }
  return looked;
}

function faultOfName(name: string): string | null {
  if (name === '') return 'it has no name (neither bn nor n)';
  if (name.length > longestName) {
    return `it has a name of ${name.length} characters; ${longestName} are taken`;
  }
  if (!wellNamed.test(name)) {
    return 'its name has characters other than letters, digits and - : . / _ (a letter or a digit first)';
  }
  return null;
}

const number = (value: unknown): number | undefined => (typeof value === 'number' ? value : undefined);
const text = (value: unknown): string | undefined => (typeof value === 'string' ? value : undefined);

/** What holds for a record and all later ones until it is set again (section 4.1). */
interface Bases {
  readonly name: string;
  readonly time: number;
  readonly unit?: string | undefined;
  readonly value?: number | undefined;
}

const withBasesOf = (record: Fields, { name, time, unit, value }: Bases): Bases => ({
  name: text(record.bn) ?? name,
  time: number(record.bt) ?? time,
  unit: text(record.bu) ?? unit,
  value: number(record.bv) ?? value,
});

/** One record with its bases applied; 'without-number' where it holds a text, a switch, data or a sum alone. */
function resolveRecord(
  record: Fields,
  bases: Bases,
  position: number,
  nowMs: number,
): SenmlRecord | Unresolved | 'without-number' {
  const n = bases.name + (text(record.n) ?? '');
  const badName = faultOfName(n);
  if (badName) return { position, reason: 'not-senml', sentence: badName };
  const { v } = record;
  const otherValue = record.vs !== undefined || record.vb !== undefined || record.vd !== undefined;
  if (v !== undefined && otherValue) {
    return { position, reason: 'no-value', sentence: `“${n}” has more than one value` };
  }
  if (v !== undefined && typeof v !== 'number') {
    return { position, reason: 'no-value', sentence: `“v” of “${n}” is not a number` };
  }
  const unit = text(record.u) ?? bases.unit;
  const time = bases.time + (number(record.t) ?? 0);
  const resolved: SenmlRecord = {
    n,
    t: time < firstAbsoluteS ? nowMs / 1000 + time : time,
    position,
    ...(unit === undefined ? {} : { u: unit }),
  };
  if (v !== undefined || (bases.value !== undefined && !otherValue)) {
    return { ...resolved, v: (bases.value ?? 0) + (v ?? 0) };
  }
  if (!otherValue && record.s === undefined) {
    return { position, reason: 'no-value', sentence: `“${n}” has no value (v)` };
  }
  // With a unit of its own it may claim to be one of our quantities; the units will tell.
  return record.u === undefined ? 'without-number' : resolved;
}

function readPack(payload: Uint8Array): unknown[] | PackFault {
  let pack: unknown;
  if (looksLikeCborArray(payload)) {
    pack = readCborPack(payload);
    if (pack === null)
      return { reason: 'not-cbor', sentence: 'The message begins like CBOR, but is not CBOR.' };
    if (Array.isArray(pack) && pack.length > 0) return pack;
    return {
      reason: 'not-senml',
      sentence: 'The message is not a SenML pack: an array with at least one record.',
    };
  }
  try {
    pack = JSON.parse(utf8.decode(payload));
  } catch {
    return { reason: 'not-json', sentence: 'The message is not JSON in UTF-8.' };
  }
  if (Array.isArray(pack) && pack.length > 0) return pack;
  const sentence = 'The message is not a SenML pack: a JSON array with at least one record.';
  return { reason: 'not-senml', sentence };
}

/** @param nowMs when the pack came in; relative times count from it. */
export function resolveSenml(payload: Uint8Array, nowMs: number): Resolved {
  const pack = readPack(payload);
  if ('reason' in pack) return pack;
  const records: SenmlRecord[] = [];
  const unresolved: Unresolved[] = [];
  let withoutNumber = 0;
  let bases: Bases = { name: '', time: 0 };
  let lost: string | undefined;

  for (const [index, record] of pack.entries()) {
    const position = index + 1;
    if (!isFields(record)) {
      unresolved.push({ position, reason: 'not-senml', sentence: 'it is not a JSON object' });
      continue;
    }
    const { mustKnow, baseFault, fault, measures } = look(record);
    if (mustKnow !== undefined) {
      const sentence = `The pack needs the field “${mustKnow}”, which is not known here.`;
      return { reason: 'not-senml', sentence };
    }
    const version = number(record.bver);
    if (version !== undefined && version > baseVersion && !newerVersions.has(version)) {
      const sentence = `The pack is of SenML version ${version}; ${baseVersion} is the newest known here.`;
      return { reason: 'not-senml', sentence };
    }
    lost ??= baseFault;
    if (lost !== undefined) {
      unresolved.push({ position, reason: 'not-senml', sentence: `it rests on a base field: ${lost}` });
      continue;
    }
    bases = withBasesOf(record, bases);
    if (fault !== undefined) {
      unresolved.push({ position, reason: 'not-senml', sentence: fault });
      continue;
    }
    if (!measures) continue;
    const resolved = resolveRecord(record, bases, position, nowMs);
    if (resolved === 'without-number') withoutNumber += 1;
    else if ('reason' in resolved) unresolved.push(resolved);
    else records.push(resolved);
  }
  return { records, unresolved, withoutNumber };
}
