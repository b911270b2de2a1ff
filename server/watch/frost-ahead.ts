/**
 * Frost ahead: what the coming days would do to heated rooms, said before they come. The room keeps what it holds over
 * the outdoor air today; what the outdoor air loses by freezing, the room loses too. Pure.
 */
import { absoluteHumidityGm3, humidityFromAbsolutePct, windowsDryUpToPct } from '../science/index.ts';
import type { Words } from './rules/rule.ts';
import { percent } from './wording.ts';

export interface WeatherDay {
  readonly day: string;
  readonly lowC: number;
  readonly highC: number;
  readonly dewPointC: number;
}

export interface FrostPiano {
  readonly place: string;
  /** Mean of the last day at the piano. */
  readonly humidityPct: number;
  /** Of the hour its state was kept last, up to half a day ago. */
  readonly temperatureC: number;
  /** Share of what its board may bear on the dry side, now. */
  readonly dryShare: number;
}

export interface Frost {
  readonly day: string;
  readonly lowC: number;
  /** The driest it would become, and at which pianos, those that bear least first. */
  readonly humidityPct: number;
  readonly pianos: readonly (FrostPiano & { readonly expectedPct: number })[];
  /** Humidity to aim at while the windows stay dry. */
  readonly windowsPct: number;
}

/** Nights above this are no frost to speak of. */
const frostC = -2;
/** Days ahead in which something can still be done, and a forecast still says something. */
export const aheadDays = 6;

const held = (dewPointC: number): number => absoluteHumidityGm3(dewPointC, 100);

/** In frost 35 to 40 % is often all that windows bear, whatever their glass (common practice, no source). */
const frostMostPct = 40;

/** What the coldest edge of double panes bears in the coldest night, in the coolest of the rooms. */
function windowsPctAt(lowC: number, pianos: readonly FrostPiano[]): number {
  const coolestC = Math.min(...pianos.map((one) => one.temperatureC));
  return Math.floor(Math.min(frostMostPct, windowsDryUpToPct(coolestC, lowC) ?? frostMostPct));
}

/** In tenths: less than that a board moves within a day, and the pianos' states are of different hours of it. The air orders the rest. */
const inTenths = (share: number): number => Math.round(share * 10);

/**
 * @param days ascending, the first is today
 * @returns null where no day would bring the air below the limit at any piano
 */
export function frostAhead(
  days: readonly WeatherDay[],
  pianos: readonly FrostPiano[],
  limitPct: number,
): Frost | null {
  const [today, ...coming] = days.slice(0, aheadDays);
  if (!today) return null;
  const cold = coming.filter((day) => day.lowC <= frostC);
  const driest = cold.reduce<WeatherDay | null>(
    (far, day) => (far === null || day.dewPointC < far.dewPointC ? day : far),
    null,
  );
  const [first] = cold;
  if (!driest || !first) return null;
  const expected = pianos
    .map((piano) => {
      const inside = absoluteHumidityGm3(piano.temperatureC, piano.humidityPct);
      const then = Math.max(0.2, inside - held(today.dewPointC) + held(driest.dewPointC));
      return { ...piano, expectedPct: Math.max(1, humidityFromAbsolutePct(piano.temperatureC, then)) };
    })
    // Already as dry as that: the board's own rules speak, and frost brings no news.
    .filter((piano) => piano.expectedPct < limitPct && piano.humidityPct - piano.expectedPct >= 3)
    .sort((a, b) => inTenths(b.dryShare) - inTenths(a.dryShare) || a.expectedPct - b.expectedPct);
  if (expected.length === 0) return null;
  const lowC = Math.min(...cold.map((day) => day.lowC));
  return {
    day: first.day,
    lowC,
    humidityPct: Math.min(...expected.map((one) => one.expectedPct)),
    pianos: expected,
    windowsPct: windowsPctAt(lowC, expected),
  };
}

export function frostWords(frost: Frost, dayWords: string): Words {
  const named = frost.pianos.slice(0, 5).map((one) => one.place);
  const more = frost.pianos.length > 5 ? `, and ${frost.pianos.length - 5} more` : '';
  const low = `${frost.lowC.toFixed(0).replace('-', '\u2212')}\u00a0°C`;
  // Where the air already stands as high as the panes will bear, holding it is all there is to do.
  const held = Math.min(...frost.pianos.map((one) => one.humidityPct)) >= frost.windowsPct;
  const raise = held
    ? `Fill the humidifiers before it comes, and hold about ${percent(frost.windowsPct)} while it lasts, no further than the windows stay dry.`
    : `Raise the humidity now, by at most 5 points a day, to about ${percent(frost.windowsPct)} and no further than the windows stay dry; fill the humidifiers before it comes.`;
  return {
    what: `Frost from ${dayWords}, down to ${low}, would bring the air to about ${percent(frost.humidityPct)}.`,
    why: `Those that can bear least first: ${named.join('; ')}${more}.`,
    toDo: raise,
    toVenue: `Frost is coming on ${dayWords}. ${raise}`,
    toClient: '',
    notBeforeMs: null,
    minutes: 0,
    evidence: {
      'lowest outdoors, °C': frost.lowC,
      'driest expected, %RH': frost.humidityPct,
      'pianos concerned': frost.pianos.length,
    },
  };
}
