/** Photos two to a row, each with its words, and a ring where the mark was set. */
import type { Content } from 'pdfmake/interfaces.js';
import { heading, runs } from './type.ts';

export interface ReportPhoto {
  readonly caption: string;
  /** JPEG in base64; null: still on the device. */
  readonly jpeg: string | null;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly mark: { readonly x: number; readonly y: number } | null;
}

const width = 234;
const mostHeight = 200;

function photo(one: ReportPhoto): Content {
  const caption: Content = { text: runs(one.caption), style: 'small', margin: [0, 3, 0, 8] };
  if (one.jpeg === null)
    return { stack: [{ text: 'This photo is still on the device that took it.', style: 'quiet' }, caption] };
  const scale = Math.min(width / one.widthPx, mostHeight / one.heightPx);
  const [w, h] = [one.widthPx * scale, one.heightPx * scale];
  const ring: Content[] = one.mark
    ? [
        {
          canvas: [
            // Light under dark, to be seen on any picture.
            ...(['#ffffff', '#8c2f1b'] as const).map((lineColor, i) => ({
              type: 'ellipse' as const,
              x: (one.mark?.x ?? 0) * w,
              y: (one.mark?.y ?? 0) * h - h,
              r1: 14,
              r2: 14,
              lineColor,
              lineWidth: i === 0 ? 3.5 : 1.6,
            })),
          ],
          relativePosition: { x: 0, y: 0 },
        },
      ]
    : [];
  return {
    unbreakable: true,
    stack: [
      {
        image: `data:image/jpeg;base64,${one.jpeg}`,
        alt: `Photo: ${one.caption}`,
        width: w,
        height: h,
      } as Content,
      ...ring,
      caption,
    ],
  };
}

export function photoPages(photos: readonly ReportPhoto[]): Content[] {
  if (photos.length === 0) return [];
  const pairs: Content[] = [];
  for (let i = 0; i < photos.length; i += 2) {
    const two = photos.slice(i, i + 2).map(photo);
    pairs.push({
      columns: two.length === 1 ? [...two, ''] : two,
      columnGap: 15,
      unbreakable: true,
    } as Content);
  }
  const [first = '', ...others] = pairs;
  // The heading stays with the first pictures.
  return [{ stack: [heading('Photos'), first], unbreakable: true }, ...others];
}
