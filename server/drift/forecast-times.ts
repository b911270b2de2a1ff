/** When an instrument's turn of the day is: each in a second of its own, so that a fleet's are spread over the hours. */
const dayMs = 86_400_000;

/** Second of the UTC day, in ms. */
export function slotOfDayMs(instrumentId: string): number {
  let hash = 0;
  for (const letter of instrumentId) hash = (hash * 31 + letter.charCodeAt(0)) % 86_400;
  return hash * 1000;
}

/** The daily look comes this long after the forecast was renewed, so that it reads a fresh one. */
const beforeTheLookMs = 30 * 60_000;

/** When a forecast made at a time is to be renewed: at its next turn, which lies half an hour before the daily look. */
export function nextForecastMs(instrumentId: string, madeMs: number): number {
  const slot = (slotOfDayMs(instrumentId) - beforeTheLookMs + dayMs) % dayMs;
  const sameDay = Math.floor(madeMs / dayMs) * dayMs + slot;
  return sameDay > madeMs ? sameDay : sameDay + dayMs;
}
