/**
 * SenML CBOR: the same pack with numbers for labels, turned into the fields SenML JSON has.
 *
 * @source RFC 8428 section 6, table 4 (labels)
 */
import { decode } from 'cbor2';

const labels: ReadonlyMap<unknown, string> = new Map([
  ...[
    [-1, 'bver'] as const,
    [-2, 'bn'] as const,
    [-3, 'bt'] as const,
    [-4, 'bu'] as const,
    [-5, 'bv'] as const,
  ],
  ...[[-6, 'bs'] as const, [0, 'n'] as const, [1, 'u'] as const, [2, 'v'] as const, [3, 'vs'] as const],
  ...[[4, 'vb'] as const, [5, 's'] as const, [6, 't'] as const, [7, 'ut'] as const, [8, 'vd'] as const],
]);

/** A CBOR array begins with one of these; no JSON text does. */
export const looksLikeCborArray = ([first = 0]: Uint8Array): boolean => first >= 0x80 && first <= 0x9f;

/** A pack is an array of maps of numbers and texts; anything deeper is something else. */
const deepest = 6;

const plain = (value: unknown): unknown => (typeof value === 'bigint' ? Number(value) : value);

function fieldsOf(record: unknown): unknown {
  // All keys texts: cbor2 makes an object of it, whose fields are named as in JSON already.
  if (!(record instanceof Map)) return record;
  return Object.fromEntries(
    [...record].map(([label, value]) => [labels.get(plain(label)) ?? String(label), plain(value)]),
  );
}

/** @returns null where it is not CBOR, or not one item alone */
export function readCborPack(payload: Uint8Array): unknown {
  try {
    const pack: unknown = decode(payload, {
      maxDepth: deepest,
      ignoreGlobalTags: true,
      rejectDuplicateKeys: true,
    });
    return Array.isArray(pack) ? pack.map(fieldsOf) : pack;
  } catch {
    return null;
  }
}
