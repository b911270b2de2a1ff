/**
 * Does the humidity control still hold? Each day that the room stands far enough from where the control would keep the inside, the
 * inside says how much of that gap it has followed. Clipped daily log-likelihood ratios (no control against working) are summed,
 * never below zero (a CUSUM); past a threshold the control is taken to be lost, and the same test the other way round tells
 * when it is back. What a working control does was learned on the instrument's own past, and is not learned further while there
 * is suspicion.
 *
 * @source Page-1954
 */
import { type ControlCause, causeOf, shareOf, type Told } from './control-cause.ts';
import {
  type ControlKind,
  type ControlModel,
  caseLagDays,
  expectedInside,
  filtered,
  fitControl,
  usualModel,
} from './control-model.ts';
import { sensorSteps } from './sensor-steps.ts';

/** Humidity on an even grid of at most six hours; null or NaN in gaps. */
export interface HumiditySeries {
  readonly startMs: number;
  readonly stepMs: number;
  readonly humidityPct: ArrayLike<number | null>;
}

export interface ControlSettings {
  readonly kind: ControlKind;
  /** null: found from the past. */
  readonly setPointPct: number | null;
}

export interface ControlLoss {
  /** When it began, as near as can be told; when it was found; when it held again (null: not yet). */
  readonly fromMs: number;
  readonly foundMs: number;
  readonly untilMs: number | null;
  readonly side: 'dry' | 'wet';
  /** Share of the gap to the room that the inside has followed since. */
  readonly share: number;
  readonly cause: ControlCause;
  /** How likely that cause is, 0-1, given that the control is lost; what else it may be. */
  readonly causeChance: number;
  /** What points to that cause, and what else to look at. */
  readonly why: string;
  readonly because: string;
}

export interface ControlEffect {
  readonly now: 'holds' | 'lost' | 'cannot tell';
  readonly because: string;
  readonly losses: readonly ControlLoss[];
  readonly sensorSteps: readonly { readonly atMs: number; readonly byPct: number }[];
  /** The last model of the working control, to be shown. */
  readonly model: ControlModel;
}

const msPerDay = 86_400_000;
/** Gap between the two expectations (%RH) from which a day can tell. */
const tellingGapPct = 5;
/** Chosen on simulated histories (the choosing seeds). */
const clip = 2.5;
/** Share of the gap that is followed once a control is lost and the wood in the case has not yet come after. */
const lostShare = 0.8;
const lostFrom = 3;
/** Less than this share followed is a control grown weak, if anything: that needs more evidence than a whole loss. */
const wholeFrom = 0.65;
const partFrom = 6;
const backFrom = 5;
/** Suspicion from which nothing more is learned. */
const suspicion = 1;
/** The model is fitted again after a week at first, later when a tenth more has been seen. */
const refitAfter = (day: number): number => Math.max(7, day / 10);
/** Days of its own past on a side before that side is judged. */
const learnedDays = 5;
const pastDays = 400;
/** Telling days are looked for this far back before it is said that nothing can be told. */
const recentDays = 14;

export function controlEffect(
  inside: HumiditySeries,
  room: HumiditySeries,
  settings: ControlSettings,
): ControlEffect {
  if (inside.startMs !== room.startMs || inside.stepMs !== room.stepMs) {
    throw new RangeError('inside and room must stand on the same grid');
  }
  if (!(inside.stepMs > 0 && inside.stepMs <= 6 * 3_600_000)) {
    throw new RangeError(`stepMs must be at most six hours, not ${inside.stepMs}`);
  }
  const { setPointPct } = settings;
  if (setPointPct !== null && !(setPointPct >= 20 && setPointPct <= 75)) {
    throw new RangeError(`setPointPct must be 20 to 75, not ${setPointPct}`);
  }
  const raw = numbers(inside.humidityPct);
  const roomRaw = numbers(room.humidityPct);
  const steps = inside.stepMs <= 3 * 3_600_000 ? sensorSteps(raw, roomRaw) : [];
  const days = daysOf(corrected(raw, steps), inside.stepMs);
  const roomDays = daysOf(roomRaw, room.stepMs);
  const watch = watched(days, roomDays, settings, inside.startMs);
  return {
    ...watch,
    sensorSteps: steps.map(({ index, byPct }) => ({ atMs: inside.startMs + index * inside.stepMs, byPct })),
  };
}

function numbers(values: ArrayLike<number | null>): Float64Array {
  return Float64Array.from({ length: values.length }, (_, i) => values[i] ?? Number.NaN);
}

function corrected(values: Float64Array, steps: readonly { index: number; byPct: number }[]): Float64Array {
  const out = Float64Array.from(values);
  for (const { index, byPct } of steps)
    for (let i = index; i < out.length; i++) out[i] = (out[i] as number) - byPct;
  return out;
}

function daysOf(values: Float64Array, stepMs: number): Float64Array {
  const perDay = Math.round(msPerDay / stepMs);
  return Float64Array.from({ length: Math.floor(values.length / perDay) }, (_, day) => {
    let sum = 0;
    let known = 0;
    for (let i = day * perDay; i < (day + 1) * perDay; i++) {
      const value = values[i] as number;
      if (Number.isNaN(value)) continue;
      sum += value;
      known++;
    }
    return known * 2 >= perDay ? sum / known : Number.NaN;
  });
}

function tell(model: ControlModel, kind: ControlKind, insidePct: number, roomPct: number): Told | null {
  if (Number.isNaN(insidePct) || Number.isNaN(roomPct)) return null;
  const side = roomPct < model.setPointPct ? 'dry' : 'wet';
  if ((side === 'dry' && kind === 'dehumidify') || (side === 'wet' && kind === 'humidify')) return null;
  if ((side === 'dry' ? model.dryDays : model.wetDays) < learnedDays) return null;
  const { working, without } = expectedInside(model, roomPct);
  const gapPct = without - working;
  if (Math.abs(gapPct) < tellingGapPct || Math.sign(gapPct) !== (side === 'dry' ? -1 : 1)) return null;
  const followedPct = insidePct - working;
  // A run of days alike tells less than as many independent ones.
  const variance = (model.residualPct ** 2 * (1 + model.carried)) / (1 - model.carried);
  const lost = lostShare * gapPct;
  const ratio = (lost * followedPct - lost ** 2 / 2) / variance;
  return { side, gapPct, followedPct, ratio: Math.max(-clip, Math.min(clip, ratio)) };
}

function watched(
  inside: Float64Array,
  room: Float64Array,
  { kind, setPointPct }: ControlSettings,
  startMs: number,
): Omit<ControlEffect, 'sensorSteps'> {
  const rooms = caseLagDays.map((lagDays) => filtered(room, lagDays));
  const usable = new Uint8Array(inside.length);
  const told: (Told | null)[] = [];
  const losses: ControlLoss[] = [];
  let model = usualModel(kind, setPointPct);
  let suspect = 0;
  let since = 0;
  let open: { loss: ControlLoss; back: number; backSince: number } | null = null;
  let fitted = 0;
  for (let t = 0; t < inside.length; t++) {
    if (t - fitted >= refitAfter(t) && suspect < suspicion && open === null) {
      model = fitControl(inside, rooms, recent(usable, t), kind, setPointPct) ?? model;
      fitted = t;
    }
    const at = rooms[caseLagDays.indexOf(model.lagDays)]?.[t] as number;
    const day = tell(model, kind, inside[t] as number, at);
    told.push(day);
    const before = suspect;
    if (day !== null) suspect = Math.max(0, suspect + day.ratio);
    if (before === 0 && suspect > 0) since = t;
    if (open === null) {
      // Days of a rising suspicion are taken back out of what is learned from.
      usable[t] = suspect < suspicion ? 1 : 0;
      if (suspect >= suspicion) usable.fill(0, since, t);
      const needed = suspect < lostFrom || wholeShareOf(told, since) > wholeFrom ? lostFrom : partFrom;
      if (suspect >= needed) {
        open = { loss: lossOf(told, model, kind, startMs, since, t), back: 0, backSince: t };
        losses.push(open.loss);
      }
    } else {
      const was = open.back;
      if (day !== null) open.back = Math.max(0, open.back - day.ratio);
      if (was === 0 && open.back > 0) open.backSince = t;
      if (open.back >= backFrom) {
        losses[losses.length - 1] = {
          ...lossOf(told.slice(0, open.backSince), model, kind, startMs, since, open.backSince - 1),
          foundMs: open.loss.foundMs,
          untilMs: startMs + open.backSince * msPerDay,
        };
        open = null;
        suspect = 0;
        usable.fill(1, Math.max(0, t - 3), t + 1);
      }
    }
  }
  if (open !== null) {
    const last = lossOf(told, model, kind, startMs, since, told.length - 1);
    losses[losses.length - 1] = { ...last, foundMs: open.loss.foundMs };
  }
  const lastLoss = losses.at(-1);
  if (open !== null && lastLoss !== undefined)
    return { now: 'lost', because: lastLoss.because, losses, model };
  const recentTold = told.slice(-recentDays).filter((day) => day !== null);
  if (recentTold.length === 0) {
    return {
      now: 'cannot tell',
      because: `For ${recentDays} days the room has stood too near what the control would keep, or on the side it does not work on.`,
      losses,
      model,
    };
  }
  const share = shareOf(recentTold);
  return {
    now: 'holds',
    because: `The inside has followed ${Math.round(Math.max(0, share) * 100)} % of the gap to the room lately.`,
    losses,
    model,
  };
}

function recent(usable: Uint8Array, t: number): Uint8Array {
  const out = new Uint8Array(usable.length);
  out.set(usable.subarray(Math.max(0, t - pastDays), t), Math.max(0, t - pastDays));
  return out;
}

/** Share followed since the suspicion began. */
function wholeShareOf(told: readonly (Told | null)[], since: number): number {
  return shareOf(told.slice(since).filter((day) => day !== null));
}

function lossOf(
  told: readonly (Told | null)[],
  model: ControlModel,
  kind: ControlKind,
  startMs: number,
  since: number,
  foundAt: number,
): ControlLoss {
  const days = told.slice(since, foundAt + 1).filter((day) => day !== null);
  const side = days[0]?.side ?? 'dry';
  const share = shareOf(days);
  const { cause, chance, why } = causeOf(days, kind, side);
  const followed = `the inside has followed ${Math.round(share * 100)} % of the gap between the room and the set point (${model.setPointPct.toFixed(0)} %)`;
  return {
    fromMs: startMs + since * msPerDay,
    foundMs: startMs + foundAt * msPerDay,
    untilMs: null,
    side,
    share,
    cause,
    causeChance: chance,
    why,
    because: `On the ${side} side ${followed}. Likely ${cause} (${Math.round(chance * 10)} in 10): ${why}`,
  };
}
