/** What venues can do themselves today: the same sentence is said once, with all the places it holds for. Pure. */
import type { ForVenue, Notice } from '../contract/index.ts';

/** The venue hears of these, and can only wait for the technician. */
const needHands: readonly Notice['rule'][] = ['pitch-out', 'unisons-out', 'service-due', 'finding-open'];

export function forVenues(
  open: readonly Notice[],
  nameOf: (venueId: string) => string | undefined,
  nowMs: number,
): ForVenue[] {
  const said = new Map<string, ForVenue & { severity: number }>();
  for (const notice of open) {
    const { venueId, toVenue, place, severity } = notice;
    const snoozed = (notice.snoozedUntilMs ?? 0) > nowMs;
    if (venueId === null || toVenue === '' || notice.partOf !== null || snoozed) continue;
    if (needHands.includes(notice.rule)) continue;
    const venueName = nameOf(venueId) ?? place;
    const within = place.startsWith(`${venueName} · `) ? [place.slice(venueName.length + 3)] : [];
    const key = `${venueId} ${toVenue}`;
    const known = said.get(key);
    said.set(key, {
      venueId,
      venueName,
      sentence: toVenue,
      places: [...new Set([...(known?.places ?? []), ...within])].sort((a, b) =>
        a.localeCompare(b, 'en', { numeric: true }),
      ),
      severity: Math.max(severity, known?.severity ?? 0),
    });
  }
  const worst = new Map<string, number>();
  for (const { venueId, severity } of said.values()) {
    worst.set(venueId, Math.max(worst.get(venueId) ?? 0, severity));
  }
  return [...said.values()]
    .sort(
      (a, b) =>
        (worst.get(b.venueId) ?? 0) - (worst.get(a.venueId) ?? 0) ||
        a.venueName.localeCompare(b.venueName) ||
        b.severity - a.severity,
    )
    .map(({ severity: _, ...one }) => one);
}
