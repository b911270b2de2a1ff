/**
 * Which instrument to renew first: use × condition × climate. A proposal of ours on what institutions commonly weigh;
 * it orders a list and decides nothing.
 */
import type { Class0to3, FleetRow, Use } from '../contract/index.ts';
import { type Assembly, itemOf } from '../contract/index.ts';
import type { Condition } from './conditions.ts';

type Part = keyof FleetRow['classes'];

const partOf: Readonly<Record<Assembly, Part>> = {
  'site and case': 'case',
  'soundboard and ribs': 'belly',
  bridges: 'belly',
  plate: 'belly',
  strings: 'belly',
  tuning: 'belly',
  'pinblock and pins': 'pinblock',
  hammers: 'action',
  knuckles: 'action',
  centres: 'action',
  keys: 'action',
  dampers: 'action',
  regulation: 'action',
  voicing: 'action',
  pedals: 'case',
  'felts and cleanliness': 'case',
};

const highest = (classes: readonly Class0to3[]): Class0to3 => Math.max(0, ...classes) as Class0to3;

/** Worst condition of belly, pinblock, action and case; null where none of it was looked at. */
export function classesOf(looks: readonly Condition[]): FleetRow['classes'] {
  const found: Record<Part, Class0to3[]> = { belly: [], pinblock: [], action: [], case: [] };
  for (const look of looks) {
    const assembly = itemOf(look.item)?.group.assembly ?? look.finding?.assembly;
    if (assembly) found[partOf[assembly]].push(look.conditionClass);
  }
  const worst = (part: Part) => (found[part].length === 0 ? null : highest(found[part]));
  return { belly: worst('belly'), pinblock: worst('pinblock'), action: worst('action'), case: worst('case') };
}

/** The board's class now, a class higher where something was found that bears humidity badly. */
export function climateRisk(boardClass: Class0to3 | null, looks: readonly Condition[]): Class0to3 | null {
  const weak = looks.some(
    (look) => look.conditionClass >= 2 && (itemOf(look.item)?.item.raisesRisk ?? 0) === 3,
  );
  if (boardClass === null) return weak ? 1 : null;
  return Math.min(3, boardClass + (weak ? 1 : 0)) as Class0to3;
}

const useWeight: Readonly<Record<Use, number>> = {
  concert: 1,
  studio: 0.8,
  practice: 0.8,
  worship: 0.6,
  home: 0.5,
};
/** What is replaced or rebuilt for: belly and pinblock weigh more than action, the case least. */
const partWeight: Readonly<Record<Part, number>> = { belly: 1, pinblock: 1, action: 0.7, case: 0.3 };

/** 0 to 100; null where nothing was inspected. */
export function priorityOf(use: Use, classes: FleetRow['classes'], risk: Class0to3 | null): number | null {
  const parts = (Object.keys(classes) as Part[]).flatMap((part) => {
    const value = classes[part];
    return value === null ? [] : [(value / 3) * partWeight[part]];
  });
  if (parts.length === 0) return null;
  const condition = Math.max(...parts);
  const climate = 0.7 + 0.1 * (risk ?? 0);
  return Math.round(100 * useWeight[use] * condition * climate);
}
