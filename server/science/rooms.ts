/**
 * The moisture balance of a ventilated room: what must be added or taken away, and what comes of the weather alone.
 *
 * Balance of vapour at the room's temperature: supply = n V (vapour inside - vapour outside), with the outdoor air at
 * its own vapour pressure. What walls, curtains and books take up and give back is not in it: over days it evens out,
 * over hours a room is steadier than this says. @source ISO-13788
 *
 * Caution: humidifiers and dehumidifiers are mains appliances beside water. Unplug before filling or emptying; leave
 * wiring, drains and ducts to licensed electricians and HVAC engineers, by local codes.
 */
import { absoluteHumidityGm3, saturationPressurePa, vapourPressurePa } from './air.ts';
import { within } from './range.ts';
import type { Air } from './slab.ts';

export interface Room {
  /** m³, 5 to 100 000 */
  readonly volumeM3: number;
  /** Air changes with outdoors per hour, 0 to 30. */
  readonly airChangesPerH: number;
  /** People in the room on average, seated at rest. */
  readonly people?: number;
}

/** Vapour a person at rest gives off, kg/h. Recalled; 40 to 60 g/h are usual. */
export const PERSON_KG_H = 0.05;

/** g/m³ of room air that outdoor air brings once it is as warm as the room. */
function broughtGm3(outdoor: { temperatureC: number; humidityPct: number }, indoorC: number): number {
  const shareOfSaturation =
    vapourPressurePa(outdoor.temperatureC, outdoor.humidityPct) / saturationPressurePa(indoorC);
  return absoluteHumidityGm3(indoorC, 100) * shareOfSaturation;
}

function checked({ volumeM3, airChangesPerH, people = 0 }: Room): Required<Room> {
  within('volumeM3', volumeM3, 5, 100_000);
  within('airChangesPerH', airChangesPerH, 0, 30);
  within('people', people, 0, 5000);
  return { volumeM3, airChangesPerH, people };
}

/**
 * Water to hold a room at a wanted state, kg/h: positive must be added, negative taken away; null where air is missing.
 */
export function moistureLoadKgH(room: Room, outdoor: Air, wanted: Air): number | null {
  const { volumeM3, airChangesPerH, people } = checked(room);
  const { temperatureC, humidityPct } = outdoor;
  if (temperatureC === null || humidityPct === null) return null;
  if (wanted.temperatureC === null || wanted.humidityPct === null) return null;
  const missingGm3 =
    absoluteHumidityGm3(wanted.temperatureC, wanted.humidityPct) -
    broughtGm3({ temperatureC, humidityPct }, wanted.temperatureC);
  return (airChangesPerH * volumeM3 * missingGm3) / 1000 - people * PERSON_KG_H;
}

/** The same as litres a day (1 kg of water is 1 litre). */
export function litresPerDay(loadKgH: number | null): number | null {
  return loadKgH === null ? null : loadKgH * 24;
}

/**
 * Water over a spell of weather, litres: to add in the hours that are too dry and to take away in those too damp,
 * holding the humidity between the two limits at the wanted temperature; hours without weather are counted.
 */
export function waterOver(
  room: Room,
  weather: readonly Air[],
  wanted: { readonly temperatureC: number; readonly lowPct: number; readonly highPct: number },
): { addLitres: number; takeLitres: number; missingHours: number } {
  within('lowPct', wanted.lowPct, 0, wanted.highPct);
  let addLitres = 0;
  let takeLitres = 0;
  let missingHours = 0;
  for (const hour of weather) {
    const toLow = moistureLoadKgH(room, hour, {
      temperatureC: wanted.temperatureC,
      humidityPct: wanted.lowPct,
    });
    const toHigh = moistureLoadKgH(room, hour, {
      temperatureC: wanted.temperatureC,
      humidityPct: wanted.highPct,
    });
    if (toLow === null || toHigh === null) missingHours += 1;
    else if (toLow > 0) addLitres += toLow;
    else if (toHigh < 0) takeLitres -= toHigh;
  }
  return { addLitres, takeLitres, missingHours };
}

/**
 * Share of the time a dehumidifier must run against a load; over 1 it is too small. Capacity is what the machine takes
 * out of *this* room's air: makers state it at 27 or 30 °C and 60 or 80 %RH, and in cool rooms it may be half.
 * @param loadKgH below zero where water must be taken away; 0 or above needs no running
 * @param capacityLitresPerDay above 0
 */
export function dehumidifierDuty(loadKgH: number | null, capacityLitresPerDay: number): number | null {
  within('capacityLitresPerDay', capacityLitresPerDay, 0.1, 10_000);
  return loadKgH === null ? null : Math.max(0, -loadKgH * 24) / capacityLitresPerDay;
}

/**
 * Humidity a room comes to in steady weather with nothing but its people, %: over 100 the walls or windows sweat first.
 * Null where air is missing; without air changes there is no steady state with people in it (RangeError).
 */
export function indoorHumidityPct(room: Room, outdoor: Air, indoorC: number | null): number | null {
  const { volumeM3, airChangesPerH, people } = checked(room);
  const { temperatureC, humidityPct } = outdoor;
  if (temperatureC === null || humidityPct === null || indoorC === null) return null;
  within('airChangesPerH', airChangesPerH, 0.01, 30);
  const gm3 =
    broughtGm3({ temperatureC, humidityPct }, indoorC) +
    (1000 * people * PERSON_KG_H) / (airChangesPerH * volumeM3);
  return (100 * gm3) / absoluteHumidityGm3(indoorC, 100);
}

/**
 * Indoor humidity hour by hour under a forecast of the weather, %. The room's air is replaced at its air changes, so
 * it follows with a lag of 1/changes hours. An hour without weather holds the room's vapour and gives null.
 * @param startPct humidity before the first hour; the first hour's steady state where null
 */
export function indoorForecastPct(
  room: Room,
  weather: readonly Air[],
  indoorC: number,
  startPct: number | null = null,
): (number | null)[] {
  const kept = Math.exp(-checked(room).airChangesPerH);
  let nowPct = startPct;
  return weather.map((hour) => {
    const steadyPct = indoorHumidityPct(room, hour, indoorC);
    if (steadyPct === null) return null;
    nowPct = nowPct === null ? steadyPct : steadyPct + (nowPct - steadyPct) * kept;
    return nowPct;
  });
}

/**
 * Humidity up to which the windows stay dry, %. The inner surface of the glass stands at
 * outdoor + factor (indoor - outdoor).
 * @param surfaceFactor 0 to 1; the cold edge of double glazing about 0.5, single glazing 0.3, triple 0.65 (recalled)
 * @source ISO-13788
 */
export function windowsDryUpToPct(
  indoorC: number | null,
  outdoorC: number | null,
  surfaceFactor = 0.5,
): number | null {
  within('surfaceFactor', surfaceFactor, 0, 1);
  if (indoorC === null || outdoorC === null) return null;
  const glassC = outdoorC + surfaceFactor * (indoorC - outdoorC);
  return Math.min(100, (100 * saturationPressurePa(glassC)) / saturationPressurePa(indoorC));
}
