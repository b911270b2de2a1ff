/** The months over a column of year strips: one axis for all of them, today at the right edge. */
import { dayMs } from '../words/times.ts';

export function YearAxis({ endMs }: { readonly endMs: number }) {
  const days = 365;
  const firstMs = endMs - (days - 1) * dayMs;
  const end = new Date(endMs);
  const months = [...Array(12)].map((_, back) => {
    const begin = Date.UTC(end.getUTCFullYear(), end.getUTCMonth() - back, 1);
    const initial = new Date(begin)
      .toLocaleDateString('en-GB', { month: 'short', timeZone: 'UTC' })
      .charAt(0);
    return { initial, day: (begin - firstMs) / dayMs, key: begin };
  });
  return (
    <div class="year-axis" aria-hidden="true">
      <span />
      <svg viewBox="0 0 365 16" preserveAspectRatio="none" aria-hidden="true">
        {months
          .filter(({ day }) => day >= 0)
          .map(({ key, day }) => (
            <path key={key} d={`M${day} 10V16`} />
          ))}
      </svg>
      <span class="year-letters">
        {months
          .filter(({ day }) => day >= 0 && day < 355)
          .map(({ key, day, initial }) => (
            <i key={key} style={{ left: `${((day + 15) / days) * 100}%` }}>
              {initial}
            </i>
          ))}
      </span>
    </div>
  );
}
