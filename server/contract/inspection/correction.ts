/**
 * Planning a pitch correction: how many passes, and how far beyond the wanted pitch each register is left so that it
 * settles there.
 *
 * Tightening one string presses case, plate and board together, and its neighbours fall: on a flat piano each register
 * is left sharp by a share of what it was flat. All figures are common practice, no source.
 */
import { type Register, registers } from '../quantities.ts';

export type PassKind = 'to pitch' | 'correction' | 'fine';

export interface Pass {
  readonly kind: PassKind;
  /** Cents from the wanted pitch at which each register is left in this pass; null where it was not measured. */
  readonly leaveCents: Readonly<Record<Register, number | null>>;
}

export interface CorrectionPlan {
  readonly passes: readonly Pass[];
  /** Largest distance from the wanted pitch, cents; null where nothing was measured. */
  readonly greatestCents: number | null;
  /** Change of tension the largest distance takes, %. */
  readonly tensionChangePct: number | null;
  readonly tuneAgainWithinMonths: number | null;
  readonly cautions: readonly string[];
  readonly reason: string;
}

/** What speaks against pulling hard. */
export type StringFinding =
  | 'rust'
  | 'splices'
  | 'old strings'
  | 'strings have broken'
  | 'loose pins'
  | 'plate crack';

/** Share of the flatness by which a register is left sharp: the middles of 10-16, 20-28 and 25-38 %. */
const OVERPULL: Readonly<Record<Register, number>> = {
  bass: 0.13,
  tenor: 0.24,
  middle: 0.24,
  treble: 0.315,
  top: 0.315,
};
/** Beyond this strings break and stretch for good. */
const MOST_OVERPULL_CENTS = 25;

const FINE_CENTS = 3;
const SINGLE_CENTS = 8;
const TO_PITCH_FIRST_CENTS = 50;

type Offsets = Readonly<Record<Register, number | null>>;

function mapOffsets(offsets: Offsets, change: (cents: number, register: Register) => number): Offsets {
  const one = (register: Register): number | null => {
    const cents = offsets[register];
    return cents === null ? null : change(cents, register);
  };
  return {
    bass: one('bass'),
    tenor: one('tenor'),
    middle: one('middle'),
    treble: one('treble'),
    top: one('top'),
  };
}

/** Flat registers are left sharp; for lowering sharp ones the trade names no figure, and they are left at pitch. */
function overpull(offsets: Offsets): Offsets {
  return mapOffsets(offsets, (cents, register) =>
    cents < 0 ? Math.min(MOST_OVERPULL_CENTS, -cents * OVERPULL[register]) : 0,
  );
}

const atPitch = (offsets: Offsets): Offsets => mapOffsets(offsets, () => 0);

/**
 * The plan. A cracked plate gets no pass that raises tension.
 * @param offsets as found, cents from the wanted pitch, -600 to 600; null where not measured
 */
export function planCorrection(offsets: Offsets, findings: readonly StringFinding[] = []): CorrectionPlan {
  const measured = registers.flatMap((register) => {
    const cents = offsets[register];
    if (cents === null) return [];
    if (!(Math.abs(cents) <= 600))
      throw new RangeError(`${register} in cents: ${cents} is not within -600 to 600`);
    return [cents];
  });
  if (measured.length === 0) {
    const reason = 'No register was measured; a plan needs at least A4.';
    return {
      passes: [],
      greatestCents: null,
      tensionChangePct: null,
      tuneAgainWithinMonths: null,
      cautions: [],
      reason,
    };
  }
  const flattest = Math.min(...measured);
  const greatestCents = Math.max(...measured.map(Math.abs));
  const stopped = findings.includes('plate crack') && flattest < 0;
  const passes = stopped ? [] : passesFor(offsets, greatestCents);
  const words = `${greatestCents.toFixed(0)} cents at most from the wanted pitch`;
  const work = stopped ? 'no raise on a cracked plate' : passes.map(({ kind }) => kind).join(', then ');
  return {
    passes,
    greatestCents,
    // Of a string between rigid ends the tension goes with the square of the frequency.
    tensionChangePct: (2 ** (greatestCents / 600) - 1) * 100,
    tuneAgainWithinMonths: greatestCents > TO_PITCH_FIRST_CENTS ? 3 : greatestCents > 20 ? 6 : null,
    cautions: cautionsFor(flattest, greatestCents, findings),
    reason: `${words}: ${work}.`,
  };
}

function passesFor(offsets: Offsets, greatestCents: number): Pass[] {
  const fine: Pass = { kind: 'fine', leaveCents: atPitch(offsets) };
  if (greatestCents <= FINE_CENTS) return [fine];
  // One pass does for a small correction, left a little sharp where it was flat.
  if (greatestCents <= SINGLE_CENTS) return [{ kind: 'fine', leaveCents: overpull(offsets) }];
  if (greatestCents <= TO_PITCH_FIRST_CENTS)
    return [{ kind: 'correction', leaveCents: overpull(offsets) }, fine];
  // A large raise first comes to pitch without overpull and loses the share that overpull would have made up for; the
  // second pass corrects what was lost. What is measured after the first pass is a better figure than this.
  const lost = mapOffsets(offsets, (cents, register) => cents * OVERPULL[register]);
  return [
    { kind: 'to pitch', leaveCents: atPitch(offsets) },
    { kind: 'correction', leaveCents: overpull(lost) },
    fine,
  ];
}

function cautionsFor(flattest: number, greatestCents: number, findings: readonly StringFinding[]): string[] {
  const cautions: string[] = [];
  if (flattest < -FINE_CENTS) {
    cautions.push(
      'Strings can break as tension rises: wear eye protection, keep your face out of their line and others away.',
    );
  }
  if (flattest < -SINGLE_CENTS) {
    cautions.push('Tell the owner before raising that old strings may break and what replacing them costs.');
  }
  if (greatestCents > TO_PITCH_FIRST_CENTS) {
    cautions.push('Agree on a follow-up visit: after so large a change the piano goes on moving for months.');
  }
  if (findings.includes('plate crack'))
    cautions.push('A cracked plate bears 15 to 20 t: do not raise tension at all.');
  const weak = findings.filter((finding) => finding !== 'plate crack' && finding !== 'loose pins');
  if (weak.length > 0 && flattest < -FINE_CENTS) {
    cautions.push(
      `With ${weak.join(' and ')}, consider staying at the pitch the strings bear, or restringing first.`,
    );
  }
  if (findings.includes('loose pins'))
    cautions.push('Loose pins will not hold a raise: measure their torque first.');
  return cautions;
}
