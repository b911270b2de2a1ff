/**
 * The dry-to-wet scale of soundboard moisture in nine classes, as colour token and as word. Its middle, 8 %, is
 * where spruce comes to rest at 42 % relative humidity and 21 °C; its ends, 5.2 % and 10.8 %, at about 25 % and
 * 58 %: below lies splitting, above lies rust and sticking (equilibrium moisture: Wood Handbook, chapter 4).
 */
const firstEdgePct = 5.2;
const stepPct = 0.8;

export const moistureWords = [
  'very dry',
  'dry',
  'rather dry',
  'a little dry',
  'middling',
  'a little damp',
  'rather damp',
  'damp',
  'very damp',
] as const;

export const classes = [1, 2, 3, 4, 5, 6, 7, 8, 9] as const;
export type MoistureClass = (typeof classes)[number];

/** Lower edges of classes 2 to 9, % of dry mass. */
export const edgesPct = classes.slice(1).map((_, i) => Number((firstEdgePct + i * stepPct).toFixed(1)));

/** A moisture on an edge belongs to the damper side of it. */
export function moistureClass(moisturePct: number): MoistureClass {
  return classes[edgesPct.filter((edgePct) => moisturePct >= edgePct).length] ?? 9;
}

export function moistureWord(moisturePct: number): string {
  return moistureWords[moistureClass(moisturePct) - 1] ?? 'middling';
}
