/** What kind of thing an instrument is, in one line. */
import type { Instrument } from '../../server/contract/index.ts';
import { hertz, nbsp } from '../words/numbers.ts';
import { useNames } from '../words/terms.ts';

export function describe({ kind, sizeCm, year, serial, pitchStandardHz, use, name }: Instrument): string {
  const size = sizeCm === null || name.includes(String(sizeCm)) ? [] : [`${sizeCm}${nbsp}cm`];
  return [
    name.toLowerCase().includes(kind) ? '' : kind === 'grand' ? 'Grand' : 'Upright',
    ...size,
    ...(year === null ? [] : [`built ${year}`]),
    ...(serial ? [`no. ${serial}`] : []),
    `A4 at ${hertz(pitchStandardHz)}`,
    `for ${useNames[use].toLowerCase()}`,
  ]
    .filter((part) => part !== '')
    .join(' · ');
}
