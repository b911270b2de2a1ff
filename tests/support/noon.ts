/** @returns a time zone in which it is about noon: no day ends there while a test runs */
export function zoneAtNoon(nowMs = Date.now()): string {
  const ahead = 12 - new Date(nowMs).getUTCHours();
  // These are counted westward: Etc/GMT-3 is three hours ahead of UTC (IANA time zone database, file etcetera).
  return ahead === 0 ? 'Etc/GMT' : `Etc/GMT${ahead > 0 ? '-' : '+'}${Math.abs(ahead)}`;
}
