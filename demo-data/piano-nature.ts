/** What is this piano like, in truth? Drawn once for each from the seed; the service has to find out by itself. */
import { type Register, registers } from '../server/contract/index.ts';
import type { InstrumentRow } from './instruments.ts';
import { chance } from './random.ts';
import type { WoodNature } from './wood.ts';

export interface PianoNature {
  readonly wood: WoodNature;
  /** How much of the room's air the board feels beside that of the case: the open side of it, a lid that stands open. */
  readonly roomShare: number;
  /** Cents for each %MC the strings feel, by register. */
  readonly centsPerPct: Readonly<Record<Register, number>>;
  /** How far its strings wander for being played: cents after a year, one standard deviation. */
  readonly wornCents: number;
  /** Slow fall for age, cents a year. */
  readonly ageingCentsPerYear: number;
}

/**
 * Time constant of an 8 mm board behind its finish, hours.
 * Source: moisture-excluding effectiveness of films, US Forest Products Laboratory, as time constants of the tested
 * specimens; an order of magnitude for boards. Bare: common practice, no source.
 */
const filmHours = { bare: 40, lacquer: 120, varnish: 165, shellac: 200, polyurethane: 400 };

/** Movement beside the middle's. Common practice, no source: most at the low tenor, least at both ends. */
const beside: Record<Register, number> = { bass: 0.45, tenor: 1.9, middle: 1, treble: 0.8, top: 0.3 };

/** Playing unsettles strings; cents a year by use. Common practice, no source. */
const wear = { concert: 1.2, studio: 1.2, practice: 1.8, worship: 0.8, home: 0.6 };

/** Laminated boards hardly swell across; what remains comes from bridges and case. Common practice, no source. */
const laminatedShare = 0.35;

export function pianoNature(seed: string, row: InstrumentRow): PianoNature {
  const draw = chance(`${seed} nature ${row.key}`);
  // About 3 cents for each %MC at A4, 2 to 5: common practice, no source.
  const middle =
    3 * Math.exp(0.22 * draw.normal()) * (row.board.construction === 'laminated' ? laminatedShare : 1);
  const small = row.kind === 'upright' && row.sizeCm < 122;
  const centsPerPct = { ...beside };
  for (const register of registers) {
    const short = register === 'tenor' && small ? 1.15 : 1;
    centsPerPct[register] = middle * beside[register] * short * Math.exp(0.15 * draw.normal());
  }
  return {
    wood: {
      boardHours: filmHours[row.board.finish] * (row.board.thicknessMm / 8) * Math.exp(0.2 * draw.normal()),
    },
    roomShare: row.kind === 'grand' ? 0.3 : 0.15,
    centsPerPct,
    wornCents: wear[row.use] * Math.exp(0.2 * draw.normal()),
    ageingCentsPerYear: 1.9 * Math.exp(0.3 * draw.normal()),
  };
}
