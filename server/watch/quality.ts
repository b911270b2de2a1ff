/** Quality of the watch: how much it says, where it repeats itself, what stays open, what led to work. Pure. */
import type { WatchQuality } from '../contract/index.ts';

export interface QualityNotice {
  readonly rule: string;
  readonly subjectId: string;
  readonly place: string;
  readonly beganMs: number;
  readonly overMs: number | null;
  readonly acknowledged: boolean;
  readonly ledToWork: boolean;
  readonly partOf: string | null;
}

const monthDays = 30.44;
const dayMs = 86_400_000;

/** Within so long of its end a notice that begins again comes and goes. */
export const againMs = 7 * dayMs;

/** @param notices that began within the window, were still open in it or ended shortly before; those told under a venue-wide notice are not counted again */
export function qualityOf(
  notices: readonly QualityNotice[],
  instruments: number,
  days: number,
  nowMs: number,
): WatchQuality {
  const own = notices.filter((one) => one.partOf === null);
  const told = own.filter((one) => one.beganMs >= nowMs - days * dayMs);
  const instrumentMonths = Math.max(1e-9, (instruments * days) / monthDays);
  const rules = [...new Set(told.map((one) => one.rule))];
  const share = (all: readonly QualityNotice[], is: (one: QualityNotice) => boolean) =>
    all.length === 0 ? 0 : all.filter(is).length / all.length;
  const byRule = rules.map((rule) => {
    const of = told.filter((one) => one.rule === rule);
    return {
      rule,
      count: of.length,
      perInstrumentMonth: of.length / instrumentMonths,
      acknowledgedShare: share(of, (one) => one.acknowledged),
      workShare: share(of, (one) => one.ledToWork),
    };
  });
  const again = new Map<string, { place: string; rule: string; count: number }>();
  for (const one of told) {
    const back = own.some(
      (other) =>
        other.subjectId === one.subjectId &&
        other.rule === one.rule &&
        other.overMs !== null &&
        other.overMs <= one.beganMs &&
        one.beganMs - other.overMs < againMs,
    );
    if (!back) continue;
    const key = `${one.rule} ${one.subjectId}`;
    const known = again.get(key) ?? { place: one.place, rule: one.rule, count: 0 };
    again.set(key, { ...known, count: known.count + 1 });
  }
  return {
    days,
    instruments,
    noticesPerInstrumentMonth: told.length / instrumentMonths,
    byRule: byRule.sort((a, b) => b.count - a.count),
    flapping: [...again.values()].sort((a, b) => b.count - a.count).slice(0, 20),
    stale: own
      .filter((one) => one.overMs === null && nowMs - one.beganMs > 30 * dayMs)
      .map((one) => ({ place: one.place, rule: one.rule, days: Math.round((nowMs - one.beganMs) / dayMs) }))
      .sort((a, b) => b.days - a.days),
  };
}
