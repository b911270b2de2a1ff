/**
 * What has gone wrong in the scenario, each with its dates counted back from the end of the seeded past. A fault still
 * going on at the end has no `untilMs`, and goes on for as long as the demo is run.
 */
import { dayMs } from './clock.ts';

export type Fault =
  | {
      readonly kind: 'tank dry' | 'unplugged';
      readonly instrument: string;
      readonly fromMs: number;
      readonly untilMs: number;
    }
  | {
      readonly kind: 'battery flat' | 'stuck';
      readonly sensor: string;
      readonly fromMs: number;
      readonly untilMs: number;
    }
  /** Water in the walls: a drain overflowed; g per m³ of the room and hour. */
  | {
      readonly kind: 'damp';
      readonly room: string;
      readonly gm3h: number;
      readonly fromMs: number;
      readonly untilMs: number;
    }
  /** Nothing of a venue arrives: its network is down. */
  | { readonly kind: 'gap'; readonly venue: string; readonly fromMs: number; readonly untilMs: number };

export function faultsOf(endMs: number): readonly Fault[] {
  const ago = (days: number): number => endMs - days * dayMs;
  const goesOn = Number.POSITIVE_INFINITY;
  return [
    { kind: 'tank dry', instrument: 'studio-4-a', fromMs: ago(270.3), untilMs: ago(254) },
    { kind: 'tank dry', instrument: 'studio-4-a', fromMs: ago(24.4), untilMs: goesOn },
    { kind: 'unplugged', instrument: 'brannoway', fromMs: ago(43.6), untilMs: goesOn },
    { kind: 'damp', room: 'vossarand', gm3h: 2.3, fromMs: ago(58), untilMs: goesOn },
    { kind: 'battery flat', sensor: 'practice-5/room', fromMs: ago(6.2), untilMs: goesOn },
    { kind: 'stuck', sensor: 'parish-room/room', fromMs: ago(5.1), untilMs: goesOn },
    { kind: 'gap', venue: 'conservatory', fromMs: ago(402.6), untilMs: ago(402.35) },
    { kind: 'gap', venue: 'conservatory', fromMs: ago(214.7), untilMs: ago(213.2) },
    { kind: 'gap', venue: 'hall', fromMs: ago(331.2), untilMs: ago(330.9) },
    { kind: 'gap', venue: 'church', fromMs: ago(181.5), untilMs: ago(177.9) },
    { kind: 'gap', venue: 'pirrelow', fromMs: ago(118.4), untilMs: ago(103.5) },
    { kind: 'gap', venue: 'ellinbrae', fromMs: ago(47.8), untilMs: ago(46.1) },
  ];
}

/** Does the humidity control of this instrument work at a time? A pulled plug stops both ways, an empty tank one. */
export function controlWorks(faults: readonly Fault[], instrument: string) {
  const own = faults.filter((fault) => 'instrument' in fault && fault.instrument === instrument);
  return (timeMs: number): { humidifies: boolean; dries: boolean } => {
    let humidifies = true;
    let dries = true;
    for (const fault of own) {
      if (timeMs < fault.fromMs || timeMs >= fault.untilMs) continue;
      humidifies = false;
      if (fault.kind === 'unplugged') dries = false;
    }
    return { humidifies, dries };
  };
}

/** Moisture that comes into a room from where none should, g per m³ and hour. */
export function dampOf(faults: readonly Fault[], room: string) {
  const own = faults.filter((fault) => fault.kind === 'damp' && fault.room === room);
  return (timeMs: number): number =>
    own.reduce(
      (sum, fault) =>
        sum + (fault.kind === 'damp' && timeMs >= fault.fromMs && timeMs < fault.untilMs ? fault.gm3h : 0),
      0,
    );
}
