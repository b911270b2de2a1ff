/**
 * Readings no air explains: far from what was said just before, and back again soon after. A jump that stays is air
 * after all (a window was opened): three in a row that agree release it. Pure.
 */
import type { Columns } from '../../ingest/index.ts';
import type { Doubt } from '../registry/doubts.ts';

/** Air in a room moves less than this from one moment to the next, and no faster. Common practice, no source. */
const leastJump = { pct: 12, pctAnHour: 12, c: 4, cAnHour: 6 };
/** After so long a silence anything may be true. */
const forgetMs = 3 * 3_600_000;
/** What agrees with each other within this tells of one air. */
const agree = { pct: 5, c: 2 };
const releasedBy = 3;

interface Said {
  readonly timeMs: number;
  readonly pct: number | null;
  readonly c: number | null;
}

const apart = (a: number | null, b: number | null): number =>
  a === null || b === null ? 0 : Math.abs(a - b);

function jumps(from: Said, to: Said): boolean {
  const hours = (to.timeMs - from.timeMs) / 3_600_000;
  return (
    apart(from.pct, to.pct) > leastJump.pct + leastJump.pctAnHour * hours ||
    apart(from.c, to.c) > leastJump.c + leastJump.cAnHour * hours
  );
}
const agrees = (a: Said, b: Said): boolean => apart(a.pct, b.pct) <= agree.pct && apart(a.c, b.c) <= agree.c;

/** Humidity and temperature often come apart: the last of each is what the next is held against. */
const merged = (before: Said | null, said: Said): Said => ({
  timeMs: said.timeMs,
  pct: said.pct ?? before?.pct ?? null,
  c: said.c ?? before?.c ?? null,
});

/**
 * @param columns ascending; a little before the window of interest, so that its first readings can be judged
 * @returns one doubt a reading; a run not yet decided is in doubt until it is
 */
export function doubtfulIn(columns: Columns): Doubt[] {
  const doubted: Doubt[] = [];
  let good: Said | null = null;
  let run: Said[] = [];
  const set = (all: readonly Said[]): void => {
    for (const { timeMs } of all) doubted.push({ fromMs: timeMs, untilMs: timeMs + 1 });
  };
  columns.timesMs.forEach((timeMs, i) => {
    const said: Said = {
      timeMs,
      pct: columns.humidityPct[i] ?? null,
      c: columns.temperatureC[i] ?? null,
    };
    if (said.pct === null && said.c === null) return;
    if (good && timeMs - good.timeMs <= forgetMs && jumps(good, said)) {
      const last = run.at(-1);
      if (last && !agrees(last, said)) {
        set(run);
        run = [];
      }
      run.push(said);
      if (run.length < releasedBy) return;
      good = said;
      run = [];
      return;
    }
    set(run);
    run = [];
    good = merged(good, said);
  });
  set(run);
  return doubted;
}
