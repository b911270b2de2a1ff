/**
 * A picture as it is kept: decoded and encoded anew, upright, without position data or anything else that was in the
 * file beside its pixels. What the file says it is counts for nothing; its first bytes do.
 */
import sharp from 'sharp';

/** A phone sends at most 400 kB; what comes from elsewhere may be larger, within reason. */
export const photoLimitBytes = 12_000_000;
/** Decoding a small file can fill the memory: so many pixels, as the largest phones take. */
const limitPixels = 110_000_000;
const largePx = 2000;
const smallPx = 320;

export class NotAPicture extends Error {
  constructor(sentence: string) {
    super(sentence);
    this.name = 'NotAPicture';
  }
}

const begins = (bytes: Uint8Array, ...head: readonly number[]): boolean =>
  head.every((byte, i) => bytes[i] === byte);

const ascii = (bytes: Uint8Array, from: number, to: number): string =>
  Buffer.from(bytes.subarray(from, to)).toString('latin1');

/** What a file is by its first bytes; only the first three go to a decoder. */
export function formatOf(bytes: Uint8Array): 'jpeg' | 'png' | 'webp' | string {
  if (begins(bytes, 0xff, 0xd8, 0xff)) return 'jpeg';
  if (begins(bytes, 0x89, 0x50, 0x4e, 0x47)) return 'png';
  if (ascii(bytes, 0, 4) === 'RIFF' && ascii(bytes, 8, 12) === 'WEBP') return 'webp';
  if (begins(bytes, 0x49, 0x49, 0x2a, 0) || begins(bytes, 0x4d, 0x4d, 0, 0x2a)) return 'a TIFF';
  if (ascii(bytes, 4, 8) === 'ftyp') return 'a HEIC or AVIF';
  if (ascii(bytes, 0, 3) === 'GIF') return 'a GIF';
  if (ascii(bytes, 0, 4) === '%PDF') return 'a PDF';
  if (/^(\s|\ufeff|ï»¿)*<(\?xml|svg|!doctype|!--)/i.test(ascii(bytes, 0, 400))) return 'an SVG or XML';
  return 'an unknown';
}

export interface Picture {
  readonly large: Buffer;
  readonly small: Buffer;
  readonly widthPx: number;
  readonly heightPx: number;
}

/** @throws NotAPicture with a sentence. */
export async function pictureFrom(bytes: Uint8Array): Promise<Picture> {
  if (bytes.length === 0) throw new NotAPicture('photo: it is empty');
  const format = formatOf(bytes);
  if (format !== 'jpeg' && format !== 'png' && format !== 'webp') {
    throw new NotAPicture(`photo: this is ${format} file, whatever its name; send JPEG, PNG or WebP`);
  }
  try {
    const upright = sharp(bytes, { limitInputPixels: limitPixels, failOn: 'error' }).rotate();
    const inside = { fit: 'inside', withoutEnlargement: true } as const;
    // White under what is transparent; metadata are left behind, as sharp does unless asked to keep them.
    const { data: large, info } = await upright
      .clone()
      .resize({ width: largePx, height: largePx, ...inside })
      .flatten({ background: '#ffffff' })
      .jpeg({ quality: 82 })
      .toBuffer({ resolveWithObject: true });
    const small = await sharp(large)
      .resize({ width: smallPx, height: smallPx, ...inside })
      .jpeg({ quality: 75 })
      .toBuffer();
    return { large, small, widthPx: info.width, heightPx: info.height };
  } catch (error) {
    const tooLarge = error instanceof Error && /pixel limit/i.test(error.message);
    throw new NotAPicture(
      tooLarge
        ? `photo: more than ${limitPixels / 1e6} million pixels; send it smaller`
        : 'photo: it is damaged and cannot be read to its end',
    );
  }
}
