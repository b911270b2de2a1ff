/**
 * Chance, from a seed. Each stream has a label of its own, so that drawing more in one place changes nothing in
 * another, and each grows one draw at a time, so that a longer run begins with exactly the shorter one.
 */
import { createHash } from 'node:crypto';

export interface Chance {
  /** Evenly in [0, 1). */
  uniform(): number;
  /** Standard normal. */
  normal(): number;
}

function digest(label: string): Buffer {
  return createHash('sha1').update(label).digest();
}

/** A stream of its own for every label: xorshift128 (Marsaglia 2003, from memory) seeded by SHA-1 of the label. */
export function chance(label: string): Chance {
  const seed = digest(label);
  let [x, y, z] = [seed.readInt32LE(0), seed.readInt32LE(4), seed.readInt32LE(8)];
  let w = seed.readInt32LE(12) | 1;
  const uniform = (): number => {
    const t = x ^ (x << 11);
    x = y;
    y = z;
    z = w;
    w = w ^ (w >>> 19) ^ t ^ (t >>> 8);
    return (w >>> 0) / 4_294_967_296;
  };
  // Box and Muller (1958); the second of each pair is dropped, so that one call is always two draws.
  const normal = (): number => Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform());
  return { uniform, normal };
}

/** A number that stands for a label in `scatter`. */
export function keyOf(label: string): number {
  return digest(label).readInt32LE(0);
}

function mixed(hash: number): number {
  let h = hash;
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return h ^ (h >>> 16);
}

function hashAt(key: number, index: number): number {
  // 2^32 steps wide: enough for seconds since 1970 as well as for steps of ten minutes.
  return mixed(mixed(key ^ Math.imul(index | 0, 0x9e3779b1)) + key);
}

/**
 * Chance that needs no history: the same for the same key and index, whoever asks first. Nearly normal, mean 0,
 * standard deviation 1, never beyond 2√3 (the sum of four even bytes, Irwin and Hall 1927).
 */
export function scatter(key: number, index: number): number {
  const h = hashAt(key, index);
  const sum = (h & 255) + ((h >>> 8) & 255) + ((h >>> 16) & 255) + (h >>> 24);
  return (sum - 510) / 147.8;
}

/** Evenly in [0, 1), without history. */
export function evenly(key: number, index: number): number {
  return (hashAt(key, index) >>> 0) / 4_294_967_296;
}

/** A name-based UUID (RFC 9562, version 5) in a namespace of the demo's own: the same name gives the same id. */
export function uuidOf(name: string): string {
  const bytes = digest(`crownwatch demo ${name}`).subarray(0, 16);
  bytes.writeUInt8((bytes.readUInt8(6) & 0x0f) | 0x50, 6);
  bytes.writeUInt8((bytes.readUInt8(8) & 0x3f) | 0x80, 8);
  const hex = bytes.toString('hex');
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}
