/** The air of a stretch of time as a vector drawing: humidity above, temperature below, gaps as gaps. */
export interface ClimateColumns {
  readonly fromMs: number;
  readonly widthMs: number;
  readonly humidityPct: readonly (number | null)[];
  readonly temperatureC: readonly (number | null)[];
  /** The band of humidity wished for the room. */
  readonly wished: { readonly low: number; readonly high: number } | null;
  readonly visitsMs: readonly number[];
  readonly timeZone: string;
  readonly where: 'inside the piano' | 'in the room';
}

const size = { width: 483, left: 34, right: 6, humidity: 96, gap: 18, temperature: 52, foot: 16 };
const ink = '#1e2422';
const ink2 = '#56605b';
const rule = '#d5cfc0';

const inner = size.width - size.left - size.right;
const fixed = (value: number): string => value.toFixed(1);

/** Unbroken stretches only: a gap is not drawn over. */
function pathOf(
  values: readonly (number | null)[],
  x: (i: number) => number,
  y: (value: number) => number,
): string {
  let down = false;
  const steps = values.map((value, i) => {
    if (value === null) {
      down = false;
      return '';
    }
    const step = `${down ? 'L' : 'M'}${fixed(x(i))} ${fixed(y(value))}`;
    down = true;
    return step;
  });
  return steps.join('');
}

function spanOf(values: readonly (number | null)[], least: number): { low: number; high: number } {
  const known = values.filter((value) => value !== null);
  const low = Math.floor(Math.min(...known) / 5) * 5;
  const high = Math.max(Math.ceil(Math.max(...known) / 5) * 5, low + least);
  return { low, high };
}

/** First days of months, or of weeks where the stretch is short. */
function ticks(fromMs: number, toMs: number): number[] {
  const day = 86_400_000;
  const days = (toMs - fromMs) / day;
  const marks: number[] = [];
  if (days <= 62) {
    const step = Math.max(1, Math.ceil(days / 8)) * day;
    for (let at = Math.ceil(fromMs / day) * day; at <= toMs; at += step) marks.push(at);
    return marks;
  }
  const start = new Date(fromMs);
  const step = Math.max(1, Math.ceil(days / 30 / 12));
  for (let month = 1; ; month += step) {
    const at = Date.UTC(start.getUTCFullYear(), start.getUTCMonth() + month, 1);
    if (at > toMs) return marks;
    marks.push(at);
  }
}

const text = (x: number, y: number, words: string, anchor = 'start'): string =>
  `<text x="${fixed(x)}" y="${fixed(y)}" font-size="7.5" fill="${ink2}" text-anchor="${anchor}">${words}</text>`;

/** @returns SVG, or null where nothing was measured. */
export function climateSvg(air: ClimateColumns): string | null {
  const { fromMs, widthMs, humidityPct, temperatureC } = air;
  if (!humidityPct.some((value) => value !== null)) return null;
  const toMs = fromMs + humidityPct.length * widthMs;
  const atX = (timeMs: number) => size.left + ((timeMs - fromMs) / (toMs - fromMs)) * inner;
  const x = (i: number) => atX(fromMs + (i + 0.5) * widthMs);
  const parts: string[] = [];
  const panel = (
    values: readonly (number | null)[],
    top: number,
    height: number,
    unit: string,
    band: ClimateColumns['wished'],
    least: number,
  ) => {
    const span = spanOf([...values, ...(band ? [band.low, band.high] : [])], least);
    const y = (value: number) => top + height - ((value - span.low) / (span.high - span.low)) * height;
    if (band) {
      const [high, low] = [y(band.high), y(band.low)];
      parts.push(
        `<rect x="${size.left}" y="${fixed(high)}" width="${inner}" height="${fixed(low - high)}" fill="#ece7dc"/>`,
      );
    }
    const step = span.high - span.low > 30 ? 10 : 5;
    for (let value = span.low; value <= span.high; value += step) {
      // The unit stands with the highest figure.
      const words = value + step > span.high ? `${value} ${unit}` : `${value}`;
      parts.push(
        `<path d="M${size.left} ${fixed(y(value))}h${inner}" stroke="${rule}" stroke-width="0.4" fill="none"/>`,
        text(size.left - 4, y(value) + 2.5, words, 'end'),
      );
    }
    parts.push(`<path d="${pathOf(values, x, y)}" stroke="${ink}" stroke-width="0.9" fill="none"/>`);
  };
  const humidityTop = 10;
  const warmTop = humidityTop + size.humidity + size.gap;
  panel(humidityPct, humidityTop, size.humidity, '%', air.wished, 10);
  const warm = temperatureC.some((value) => value !== null);
  if (warm) panel(temperatureC, warmTop, size.temperature, '°C', null, 10);
  const bottom = warm ? warmTop + size.temperature : humidityTop + size.humidity;
  for (const at of air.visitsMs.filter((one) => one >= fromMs && one <= toMs)) {
    parts.push(
      `<path d="M${fixed(atX(at))} ${humidityTop}V${bottom}" stroke="#2f4b8f" stroke-width="0.8" stroke-dasharray="1.5 2" fill="none"/>`,
    );
  }
  const say = new Intl.DateTimeFormat('en-GB', {
    timeZone: air.timeZone,
    day: 'numeric',
    month: 'short',
  });
  for (const at of ticks(fromMs, toMs)) parts.push(text(atX(at), bottom + 11, say.format(at), 'middle'));
  const height = bottom + size.foot;
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${size.width}" height="${height}" viewBox="0 0 ${size.width} ${height}" font-family="Sans">${parts.join('')}</svg>`;
}

/** "It stood between 24 and 61 %, on average at 38 %; it was outside the wished 40 to 55 % for 63 % of the time." */
export function climateWords({ humidityPct, wished, where }: ClimateColumns): string {
  const known = humidityPct.filter((value) => value !== null);
  if (known.length === 0) return 'No readings of the air are known for this stretch of time.';
  const mean = known.reduce((sum, value) => sum + value, 0) / known.length;
  const outside = wished
    ? known.filter((value) => value < wished.low || value > wished.high).length / known.length
    : 0;
  const gaps = 1 - known.length / humidityPct.length;
  const range = `Humidity ${where} was between ${Math.round(Math.min(...known))} and ${Math.round(Math.max(...known))} %, on average ${Math.round(mean)} %`;
  const band = wished
    ? `; outside the wished ${wished.low} to ${wished.high} % for ${Math.round(outside * 100)} % of the time`
    : '';
  const missing = gaps > 0.02 ? ` For ${Math.round(gaps * 100)} % of the time nothing was measured.` : '';
  return `${range}${band}.${missing}`;
}
