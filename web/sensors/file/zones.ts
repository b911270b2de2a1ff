/** Where clocks of loggers stand. */
import type { Venue } from '../../../server/contract/index.ts';

const deviceZone = Intl.DateTimeFormat().resolvedOptions().timeZone;

/** Where the clocks of a zone stand in winter: the offset of a logger that never follows summer time. */
export function winterOffset(timeZone: string): string {
  const offsets = [0, 6].map((month) => {
    const parts = new Intl.DateTimeFormat('en', { timeZone, timeZoneName: 'longOffset' }).formatToParts(
      Date.UTC(2026, month, 15),
    );
    const text = parts.find(({ type }) => type === 'timeZoneName')?.value ?? 'GMT';
    const [, sign, hours = '0', minutes = '0'] = /GMT([+-])(\d+):?(\d+)?/.exec(text) ?? [];
    return (sign === '-' ? -1 : 1) * (Number(hours) * 60 + Number(minutes));
  });
  const least = Math.min(...offsets);
  const [hours, rest] = [Math.floor(Math.abs(least) / 60), Math.abs(least) % 60];
  return `UTC${least < 0 ? '-' : '+'}${hours}${rest === 0 ? '' : `:${String(rest).padStart(2, '0')}`}`;
}

/** What clocks of loggers stand at: those of the venues, with and without summer time. */
export function zonesOf(venues: readonly Venue[]): string[] {
  const named = [...new Set([...venues.map(({ timeZone }) => timeZone), deviceZone])];
  return [...new Set([...named, ...named.map(winterOffset), 'UTC'])];
}
