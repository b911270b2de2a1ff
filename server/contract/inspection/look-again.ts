/** Before it is closed: findings that contradict each other or the first grade are pointed out, never changed. */
import type { Class0to3 } from '../quantities.ts';
import { groupsFor, itemOf } from './catalogue.ts';
import { againstNormal } from './grade.ts';
import type { Kind } from './item.ts';
import { type PinSample, pinClass, pinSections, pinsClass } from './pins.ts';

/** What the last look needs of a sheet. */
export interface LookedAt {
  readonly kind: Kind;
  /** Condition class by item; absent: not answered. */
  readonly classes: Readonly<Record<string, Class0to3>>;
  readonly notExamined: readonly string[];
  readonly measured: Readonly<Record<string, number>>;
  readonly pins: readonly (PinSample & { readonly section: string })[];
  /** Whether anything was raised: the greatest step up between as found and as left, cents; null: unknown. */
  readonly raisedCents: number | null;
  readonly humidityPct: number | null;
}

export interface LookAgain {
  readonly itemId: string | null;
  readonly sentence: string;
}

const nameOf = (id: string): string => itemOf(id)?.item.name ?? id;

export function lookAgain(sheet: LookedAt): LookAgain[] {
  return [...unanswered(sheet), ...againstMeasure(sheet), ...againstPins(sheet), ...betweenItems(sheet)];
}

function unanswered({ kind, classes, notExamined }: LookedAt): LookAgain[] {
  return groupsFor(kind)
    .flatMap((group) => group.items)
    .filter(({ id }) => classes[id] === undefined && !notExamined.includes(id))
    .map(({ id, name }) => ({ itemId: id, sentence: `${name}: not answered.` }));
}

function againstMeasure({ kind, classes, measured }: LookedAt): LookAgain[] {
  return Object.entries(measured).flatMap(([id, value]) => {
    const item = itemOf(id)?.item;
    const grade = classes[id];
    if (!item || grade === undefined) return [];
    const stands = againstNormal(item, kind, value);
    if (stands !== 'normal' && stands !== null && grade === 0) {
      return [
        {
          itemId: id,
          sentence: `${item.name}: ${value} ${item.measure?.unit ?? ''} is ${stands === 'low' ? 'below' : 'above'} normal, but it is graded without symptoms.`,
        },
      ];
    }
    return [];
  });
}

function againstPins({ classes, pins }: LookedAt): LookAgain[] {
  const sampled = pinsClass(pins);
  const graded = classes['pins.torque'];
  if (sampled === null) return [];
  const without = pinSections.filter(
    (section) => !pins.some((pin) => pin.section === section && pinClass(pin) !== null),
  );
  const missing =
    without.length === 0
      ? []
      : [{ itemId: 'pins.torque', sentence: `No pin was tried in the ${without.join(', ')}.` }];
  if (graded === undefined || graded === sampled) return missing;
  return [
    {
      itemId: 'pins.torque',
      sentence: `${nameOf('pins.torque')}: graded ${graded}, but the samples say ${sampled}.`,
    },
    ...missing,
  ];
}

function betweenItems({ classes, raisedCents, humidityPct }: LookedAt): LookAgain[] {
  const at = (id: string): number => classes[id] ?? 0;
  const found: LookAgain[] = [];
  const say = (itemId: string, sentence: string) => found.push({ itemId, sentence });
  if (at('plate.cracks') >= 1 && raisedCents !== null && raisedCents > 3) {
    say(
      'plate.cracks',
      'A crack in the plate is noted, and the pitch was raised: look again, and let it be known.',
    );
  }
  if (at('keys.free') >= 2 && classes['keys.bushings'] === 0 && classes['centres.friction'] === 0) {
    say('keys.free', 'Keys are slow, yet bushings and centres are without symptoms: what slows them?');
  }
  if (at('pins.torque') >= 2 && classes['pins.block'] === 0) {
    say('pins.block', 'Pins are loose in a pinblock without symptoms: gap, layers, or only the dry season?');
  }
  if (at('ribs.separated') >= 1 && classes['board.crown'] === undefined) {
    say('board.crown', 'A rib is separated, and the crown was not examined.');
  }
  if (classes['board.cracks'] === 0 && at('ribs.separated') >= 2) {
    say('board.cracks', 'Ribs are separated and no crack is noted: look along the separated rib.');
  }
  if (at('pins.torque') >= 1 && humidityPct !== null && humidityPct < 35) {
    say(
      'pins.torque',
      `At ${Math.round(humidityPct)} % humidity pins are at their loosest: try again in a moister season before large work.`,
    );
  }
  if (at('strings.rust') >= 2 && raisedCents !== null && raisedCents > 10) {
    say(
      'strings.rust',
      `Rusted strings were raised by ${Math.round(raisedCents)} cents: is the owner told of breakage?`,
    );
  }
  return found;
}
