/**
 * The instruments of the demo, and when each was last visited. Invented throughout; names say kind and size only.
 * `tuned` counts days before the end of the seeded past, so that the fleet is in the same mixed state at any date.
 */
import type { InstrumentBody } from '../server/contract/index.ts';

type Board = InstrumentBody['board'];

export interface InstrumentRow {
  readonly key: string;
  readonly room: string;
  readonly kind: InstrumentBody['kind'];
  readonly sizeCm: number;
  readonly year: number;
  readonly use: InstrumentBody['use'];
  readonly board: Board;
  readonly remarks: string;
  /** Days before the end on which it was tuned, oldest first. */
  readonly tuned: readonly number[];
  /** Days before the end on which it was restrung; a tuning of that same day stands in `tuned`. */
  readonly restrung?: number;
  /** Humidity control fitted: set point, what it gives (g per m³ of the case and hour) and its warmth (K). */
  readonly control?: { readonly setPct: number; readonly humidifyGm3h: number; readonly warmthK: number };
}

function board(
  finish: Board['finish'],
  thicknessMm: number,
  species: Board['species'] = 'spruce-sitka',
  own: Partial<Board> = {},
): Board {
  return { species, thicknessMm, finish, construction: 'solid', ribbedAtMoisturePct: null, ...own };
}

const lacquered = board('lacquer', 8);
const knownLacquered = board('lacquer', 8, 'spruce-sitka', { ribbedAtMoisturePct: 7.4 });
const varnished = board('varnish', 8.5, 'spruce-white');
const thick = board('polyurethane', 8);
/** Newer instruments whose maker tells the moisture at which the ribs went on. */
const known = board('polyurethane', 8, 'spruce-sitka', { ribbedAtMoisturePct: 7.2 });
const old = board('shellac', 8.5, 'spruce-red');

function upright(key: string, room: string, sizeCm: number, year: number, tuned: readonly number[]) {
  return { key, room, kind: 'upright', sizeCm, year, use: 'practice', remarks: '', tuned } as const;
}

function grand(key: string, room: string, sizeCm: number, year: number, tuned: readonly number[]) {
  return { key, room, kind: 'grand', sizeCm, year, use: 'studio', remarks: '', tuned } as const;
}

export const instruments: readonly InstrumentRow[] = [
  { ...upright('practice-1', 'practice-1', 121, 2011, [521, 412, 298, 196, 88]), board: known },
  { ...upright('practice-2', 'practice-2', 121, 2011, [520, 411, 297, 41]), board: known },
  { ...upright('practice-3', 'practice-3', 131, 2004, [519, 410, 296, 195, 27]), board: knownLacquered },
  { ...upright('practice-4', 'practice-4', 131, 2004, [518, 409, 297, 194, 86]), board: knownLacquered },
  { ...upright('practice-5', 'practice-5', 125, 1996, [517, 300, 40]), board: varnished },
  {
    ...upright('practice-6', 'practice-6', 125, 1996, [516, 408, 295, 193, 84]),
    board: lacquered,
    remarks: 'Stands beside the radiator; there is no other wall.',
  },
  {
    ...grand('practice-7', 'practice-7', 170, 2009, [515, 407, 294, 192, 83, 20]),
    use: 'practice',
    board: known,
  },
  { ...grand('practice-8', 'practice-8', 170, 2009, [460, 293, 191, 39]), use: 'practice', board: known },
  { ...grand('studio-1', 'studio-1', 180, 2015, [530, 440, 350, 255, 160, 36]), board: known },
  {
    ...grand('studio-2-a', 'studio-2', 208, 2018, [529, 439, 351, 256, 161, 64]),
    board: known,
    control: { setPct: 45, humidifyGm3h: 1.1, warmthK: 3 },
    remarks: 'Humidity control in the case, both ways, set to 45 %.',
  },
  { ...grand('studio-2-b', 'studio-2', 170, 1987, [530, 352, 255, 162, 65]), board: varnished },
  { ...grand('studio-3', 'studio-3', 188, 1978, [528, 438, 348, 253, 158, 62]), board: old },
  {
    ...grand('studio-4-a', 'studio-4', 211, 2016, [527, 437, 349, 254, 159, 61]),
    board: lacquered,
    control: { setPct: 45, humidifyGm3h: 1.2, warmthK: 3 },
    remarks:
      'Humidity control in the case, both ways, set to 45 %. The tank is under the keybed; unplug before filling.',
  },
  { ...upright('studio-4-b', 'studio-4', 131, 2002, [526, 347, 157]), use: 'studio', board: lacquered },
  {
    ...grand('studio-5', 'studio-5', 160, 1964, [525, 346, 152, 128, 96, 33]),
    board: old,
    restrung: 152,
    remarks: 'Restrung in the plain-wire sections.',
  },
  { ...grand('ensemble', 'ensemble', 227, 2007, [532, 353, 163, 34]), board: known },
  { ...upright('lecture', 'lecture', 125, 1999, [512, 305, 90]), use: 'practice', board: varnished },
  {
    ...grand('auditorium-a', 'auditorium', 274, 2019, [500, 390, 280, 170, 75, 8]),
    use: 'concert',
    board: known,
  },
  {
    ...grand('auditorium-b', 'auditorium', 231, 1994, [499, 389, 279, 169, 74]),
    use: 'concert',
    board: lacquered,
  },
  { ...upright('green-room', 'green-room', 121, 2008, [498, 278, 73]), use: 'studio', board: thick },
  {
    ...grand('nave', 'nave', 190, 1971, [480, 300, 115]),
    use: 'worship',
    board: varnished,
    remarks: 'The church is not heated. Key with the sexton.',
  },
  { ...upright('parish-room', 'parish-room', 118, 1989, [479, 299, 114]), use: 'worship', board: lacquered },
  {
    ...grand('brannoway', 'brannoway', 173, 1998, [505, 320, 140]),
    use: 'home',
    board: thick,
    control: { setPct: 44, humidifyGm3h: 0.9, warmthK: 3 },
    remarks: 'Humidity control in the case, both ways, plugged in behind the curtain.',
  },
  { ...upright('oskelund', 'oskelund', 120, 2013, [505, 340, 175, 25]), use: 'home', board: known },
  { ...grand('ellinbrae', 'ellinbrae', 157, 1958, [455, 270, 100]), use: 'home', board: old },
  {
    ...upright('pirrelow', 'pirrelow', 110, 2006, [500, 330, 160, 22]),
    use: 'home',
    board: board('polyurethane', 7.5, 'spruce-sitka', { construction: 'laminated' }),
  },
  { ...upright('vossarand', 'vossarand', 132, 1992, [445, 260, 70]), use: 'home', board: lacquered },
  { ...grand('tavrick', 'tavrick', 185, 2012, [495, 380, 262, 150, 30]), use: 'home', board: known },
];
