/**
 * The line protocol of InfluxDB: `measurement,tag=value field=value timestamp`, one point a line. Each becomes a
 * document {measurement, tags, fields, timeMs}, which a mapping profile then reads like any JSON.
 *
 * @source InfluxDB 1.x and 2.x documentation, "Line protocol" (from memory; checked against the engine itself)
 */
export type Precision = 'ns' | 'us' | 'ms' | 's' | 'm' | 'h';

export interface LinePoint {
  readonly measurement: string;
  readonly tags: Readonly<Record<string, string>>;
  readonly fields: Readonly<Record<string, number | string | boolean>>;
  /** Absent where the line has none: then it is of now. */
  readonly timeMs?: number;
}

const msPer: Readonly<Record<Precision, number>> = {
  ns: 1e-6,
  us: 1e-3,
  ms: 1,
  s: 1_000,
  m: 60_000,
  h: 3_600_000,
};

/** As clients write them: n and u for ns and us, absent for ns. */
export function precisionNamed(name: string | undefined): Precision | null {
  if (name === undefined || name === '' || name === 'n') return 'ns';
  if (name === 'u' || name === 'µ') return 'us';
  return name in msPer ? (name as Precision) : null;
}

/** The engine takes no plus sign either. */
const integer = /^-?\d{1,19}[iu]$/;
const float = /^-?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d{1,3})?$/i;
const truths = new Map([
  ...['t', 'T', 'true', 'True', 'TRUE'].map((word) => [word, true] as const),
  ...['f', 'F', 'false', 'False', 'FALSE'].map((word) => [word, false] as const),
]);

/** One line taken apart at its first unescaped space, comma or equals sign, outside of quoted texts. */
class Cursor {
  readonly #line: string;
  at = 0;
  constructor(line: string) {
    this.#line = line;
  }
  here(): string {
    return this.#line.charAt(this.at);
  }
  get done(): boolean {
    return this.at >= this.#line.length;
  }
  /** Up to one of `ends`. A backslash before one of `escapes` is taken away, any other stays. */
  word(ends: string, escapes: string): string {
    let text = '';
    for (; !this.done && !ends.includes(this.here()); this.at += 1) {
      const next = this.#line.charAt(this.at + 1);
      if (this.here() === '\\' && next !== '' && escapes.includes(next)) this.at += 1;
      text += this.here();
    }
    return text;
  }
  /** A text in double quotes, at whose opening quote it stands; null where it never ends. */
  quoted(): string | null {
    let text = '';
    for (this.at += 1; !this.done; this.at += 1) {
      const next = this.#line.charAt(this.at + 1);
      if (this.here() === '\\' && (next === '"' || next === '\\')) this.at += 1;
      else if (this.here() === '"') {
        this.at += 1;
        return text;
      }
      text += this.here();
    }
    return null;
  }
  spaces(): void {
    while (this.here() === ' ') this.at += 1;
  }
  rest(): string {
    return this.#line.slice(this.at).trim();
  }
}

function fieldValue(cursor: Cursor): number | string | boolean | null {
  if (cursor.here() === '"') return cursor.quoted();
  const word = cursor.word(', ', '');
  if (integer.test(word)) return Number(word.slice(0, -1));
  if (float.test(word)) return Number(word);
  return truths.get(word) ?? null;
}

/** The point, or what is wrong with the line. */
function readLine(line: string, precision: Precision): LinePoint | string {
  const cursor = new Cursor(line);
  const measurement = cursor.word(', ', ', ');
  if (measurement === '') return 'it has no measurement';
  const tags: [string, string][] = [];
  while (cursor.here() === ',') {
    cursor.at += 1;
    const key = cursor.word('=, ', ',= ');
    if (key === '' || cursor.here() !== '=') return 'a tag has no = or no name';
    cursor.at += 1;
    const value = cursor.word(', ', ',= ');
    if (value === '') return `the tag ${key.slice(0, 40)} has no value`;
    tags.push([key, value]);
  }
  cursor.spaces();
  const fields: [string, number | string | boolean][] = [];
  do {
    if (cursor.here() === ',') cursor.at += 1;
    const key = cursor.word('=, ', ',= ');
    if (key === '' || cursor.here() !== '=') return 'it has no field, or a field has no =';
    cursor.at += 1;
    const value = fieldValue(cursor);
    if (value === null) return `the field ${key.slice(0, 40)} has no value that can be read`;
    fields.push([key, value]);
  } while (cursor.here() === ',');
  const point = { measurement, tags: Object.fromEntries(tags), fields: Object.fromEntries(fields) };
  const time = cursor.rest();
  if (time === '') return point;
  if (!/^-?\d{1,19}$/.test(time)) return 'its time is not a whole number';
  return { ...point, timeMs: Math.round(Number(time) * msPer[precision]) };
}

/** A line ends at a newline outside of a quoted field; quotes elsewhere are plain signs. */
function* linesOf(text: string): Generator<string> {
  let from = 0;
  let inFields = false;
  let quoted = false;
  for (let at = 0; at < text.length; at += 1) {
    const sign = text.charAt(at);
    if (sign === '\\') at += 1;
    else if (sign === '"' && inFields) quoted = !quoted;
    else if (sign === ' ') inFields = true;
    else if (sign === '\n' && !quoted) {
      yield text.slice(from, at);
      from = at + 1;
      inFields = false;
    }
  }
  yield text.slice(from);
}

const utf8 = new TextDecoder('utf-8', { fatal: true });

export interface ReadLines {
  readonly points: LinePoint[];
  readonly faults: { readonly line: number; readonly sentence: string }[];
}

/** Never throws, whatever the payload. */
export function readLineProtocol(payload: Uint8Array, precision: Precision): ReadLines {
  let text: string;
  try {
    text = utf8.decode(payload);
  } catch {
    return { points: [], faults: [{ line: 1, sentence: 'it is not UTF-8' }] };
  }
  const points: LinePoint[] = [];
  const faults: { line: number; sentence: string }[] = [];
  let number = 0;
  for (const raw of linesOf(text)) {
    number += 1;
    const line = raw.replace(/\r$/, '').trimStart();
    if (line === '' || line.startsWith('#')) continue;
    const point = readLine(line, precision);
    if (typeof point === 'string') faults.push({ line: number, sentence: point });
    else points.push(point);
  }
  return { points, faults };
}
