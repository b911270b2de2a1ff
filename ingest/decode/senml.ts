/**
 * SenML JSON: a pack of records with base fields, resolved to records that each stand alone.
 *
 * @source RFC 8428 section 4 (base fields 4.1, regular fields 4.2, names 4.5.1, times 4.5.3, resolved records 4.6)
 */

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

export type Resolved =
  | { readonly records: SenmlRecord[]; readonly unresolved: Unresolved[]; readonly withoutNumber: number }
  /** The whole pack cannot be read. */
  | { readonly reason: 'not-json' | 'not-senml'; readonly sentence: string };

/** Times below 2^28 seconds are relative to now (section 4.5.3). */
const firstAbsoluteS = 2 ** 28;
/** Version 10 is RFC 8428; bit 4 on top of it announces secondary units (RFC 9100, from memory), none of which we take. */
const newestVersions = new Set([26]);
const baseVersion = 10;

export const longestName = 200;
const wellNamed = /^[A-Za-z0-9][A-Za-z0-9\-:./_]*$/;

export const isName = (name: string): boolean => name.length <= longestName && wellNamed.test(name);

const utf8 = new TextDecoder('utf-8', { fatal: true });
const numbers = ['bt', 'bv', 'bs', 'bver', 't', 'ut', 's'] as const;
const texts = ['bn', 'bu', 'n', 'u'] as const;
const known = new Set<string>([...numbers, ...texts, 'v', 'vs', 'vb', 'vd']);

type Fields = Record<string, unknown>;

const isFields = (value: unknown): value is Fields =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** The first field of a record that has the wrong type, or that says it must be understood and is not. */
function faultOf(record: Fields): string | null {
  for (const label of numbers) {
    if (record[label] !== undefined && typeof record[label] !== 'number') return `“${label}” is not a number`;
  }
  for (const label of texts) {
    if (record[label] !== undefined && typeof record[label] !== 'string') return `“${label}” is not a text`;
  }
  return null;
}

function faultOfName(name: string): string | null {
  if (name === '') return 'it has no name (neither bn nor n)';
  if (name.length > longestName)
    return `it has a name of ${name.length} characters; ${longestName} are taken`;
  if (!wellNamed.test(name)) {
    return 'its name has characters other than letters, digits and - : . / _ (a letter or a digit first)';
  }
  return null;
}

const number = (value: unknown): number | undefined => (typeof value === 'number' ? value : undefined);
const text = (value: unknown): string | undefined => (typeof value === 'string' ? value : undefined);

/** @param nowMs when the pack came in; relative times count from it. */
export function resolveSenml(payload: Uint8Array, nowMs: number): Resolved {
  let pack: unknown;
  try {
    pack = JSON.parse(utf8.decode(payload));
  } catch {
    return { reason: 'not-json', sentence: 'The message is not JSON in UTF-8.' };
  }
  if (!Array.isArray(pack) || pack.length === 0) {
    return {
      reason: 'not-senml',
      sentence: 'The message is not a SenML pack: a JSON array with at least one record.',
    };
  }

  const records: SenmlRecord[] = [];
  const unresolved: Unresolved[] = [];
  let withoutNumber = 0;
  let [baseName, baseTime, baseUnit, baseValue]: [string, number, string | undefined, number | undefined] = [
    '',
    0,
    undefined,
    undefined,
  ];

  for (const [index, record] of (pack as unknown[]).entries()) {
    const position = index + 1;
    if (!isFields(record)) {
      unresolved.push({ position, reason: 'not-senml', sentence: 'it is not a JSON object' });
      continue;
    }
    // Section 4.4: who does not understand a field ending in "_" must not use the pack.
    const mustKnow = Object.keys(record).find((label) => label.endsWith('_') && !known.has(label));
    if (mustKnow !== undefined) {
      return {
        reason: 'not-senml',
        sentence: `The pack needs the field “${mustKnow.slice(0, 40)}”, which is not known here.`,
      };
    }
    const version = number(record.bver);
    if (version !== undefined && version > baseVersion && !newestVersions.has(version)) {
      return {
        reason: 'not-senml',
        sentence: `The pack is of SenML version ${version}; 10 is the newest known here.`,
      };
    }

    // A faulty base field would put every later record in the wrong place, so it spoils the rest of the pack.
    const fault = faultOf(record);
    if (fault?.startsWith('“b')) {
      const rest = pack.length - index;
      for (let lost = 0; lost < rest; lost += 1) {
        unresolved.push({
          position: position + lost,
          reason: 'not-senml',
          sentence: `it rests on a base field: ${fault}`,
        });
      }
      break;
    }
    baseName = text(record.bn) ?? baseName;
    baseTime = number(record.bt) ?? baseTime;
    baseUnit = text(record.bu) ?? baseUnit;
    baseValue = number(record.bv) ?? baseValue;
    if (fault) {
      unresolved.push({ position, reason: 'not-senml', sentence: fault });
      continue;
    }

    const ownFields = Object.keys(record).some((label) => known.has(label) && !label.startsWith('b'));
    if (!ownFields) continue; // sets base fields, measures nothing
    const n = baseName + (text(record.n) ?? '');
    const badName = faultOfName(n);
    if (badName) {
      unresolved.push({ position, reason: 'not-senml', sentence: badName });
      continue;
    }
    const { v } = record;
    const otherValue = record.vs !== undefined || record.vb !== undefined || record.vd !== undefined;
    if (v !== undefined && (typeof v !== 'number' || otherValue)) {
      const sentence = otherValue ? `“${n}” has more than one value` : `“v” of “${n}” is not a number`;
      unresolved.push({ position, reason: 'no-value', sentence });
      continue;
    }
    const u = text(record.u) ?? baseUnit;
    const time = baseTime + (number(record.t) ?? 0);
    const t = time < firstAbsoluteS ? nowMs / 1000 + time : time;
    const resolved = { n, ...(u === undefined ? {} : { u }), t, position };
    if (typeof v === 'number' || (baseValue !== undefined && !otherValue)) {
      records.push({ ...resolved, v: (baseValue ?? 0) + (typeof v === 'number' ? v : 0) });
    } else if (otherValue || record.s !== undefined) {
      if (record.u === undefined) withoutNumber += 1;
      else records.push(resolved);
    } else {
      unresolved.push({ position, reason: 'no-value', sentence: `“${n}” has no value (v)` });
    }
  }
  return { records, unresolved, withoutNumber };
}
