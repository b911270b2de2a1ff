/**
 * Water in air, as short as the truth needs it. Deliberately not the service's own formulas (those follow the
 * ASHRAE handbook): a check against one's own arithmetic would prove nothing.
 */

/** Gas constant of water vapour, J/(kg K). Source: ISO 13788:2012 uses 462; the digits are from memory. */
const vapourGasConstant = 461.5;

/**
 * Saturation vapour pressure over water, Pa, for -45 to 60 °C; below freezing too, as humidity sensors and weather
 * stations state relative humidity over water.
 * Source: WMO-No. 8, Guide to Instruments and Methods of Observation, Annex 4.B (Magnus form).
 */
export function saturationPressurePa(temperatureC: number): number {
  return 611.2 * Math.exp((17.62 * temperatureC) / (243.12 + temperatureC));
}

/** Vapour density at saturation, g/m³. */
export function saturationGm3(temperatureC: number): number {
  return (saturationPressurePa(temperatureC) / (vapourGasConstant * (temperatureC + 273.15))) * 1000;
}

/** Dew point, °C, of air with this vapour density, g/m³ (above 0), and temperature. */
export function dewPointC(vapourGm3: number, temperatureC: number): number {
  const pressurePa = (vapourGm3 / 1000) * vapourGasConstant * (temperatureC + 273.15);
  const l = Math.log(pressurePa / 611.2);
  return (243.12 * l) / (17.62 - l);
}

/** Relative humidity, %, of air with this vapour density, g/m³. */
export function humidityPct(vapourGm3: number, temperatureC: number): number {
  return (100 * vapourGm3) / saturationGm3(temperatureC);
}
