/** Which column of a logger's file is which: as told, or, where nothing is told, by its title. */

export interface ColumnWishes {
  readonly timeColumn?: string | undefined;
  readonly humidityColumn?: string | undefined;
  readonly temperatureColumn?: string | undefined;
}

export interface FoundColumns {
  readonly time: number;
  readonly humidity: number | null;
  readonly temperature: number | null;
  /** Its title says so. */
  readonly isFahrenheit: boolean;
}

/** As loggers write them in several languages (from memory). */
const titles = {
  time: /^(?:t|time|date|datum|data|dato|fecha|zeit|timestamp|aika|tid|tijd|heure|hora)\b|^t_|date.?time|time.?stamp|zeit/i,
  humidity:
    /^(?:rh|h|hum|rf|hr)$|humid|umidit|(?:^|[^a-z])rh(?:[^a-z]|$)|feucht|humedad|vochtig|fuktig|fugtig|kosteus/i,
  temperature: /^(?:t|temp|ta)$|temp|°\s*[cf]\b|\bcel(?:sius)?\b|lämpötila/i,
};
/** What a logger computes of the two others: it is neither. */
const computed = /dew|taupunkt|ros[ée]e|roc[ií]o|rugiada|absol|g\s*\/\s*m/i;
const fahrenheit = /°\s*f|fahrenheit|degf|[\s_([]f[)\]]?$/i;

export const delimiters = [';', '\t', ',', '|'] as const;

/** The one that cuts the title line into most pieces. */
export function guessDelimiter(titleLine: string): string {
  const pieces = (delimiter: string): number => titleLine.split(delimiter).length;
  return delimiters.reduce((best, delimiter) => (pieces(delimiter) > pieces(best) ? delimiter : best), ',');
}

const plainNames = (header: readonly string[]): string[] =>
  header.map((name) => name.normalize('NFKC').trim());

function guessed(
  names: readonly string[],
  title: RegExp,
  taken: readonly (number | null)[] = [],
): number | null {
  const at = names.findIndex(
    (name, index) => !taken.includes(index) && title.test(name) && !computed.test(name),
  );
  return at === -1 ? null : at;
}

const isInFahrenheit = (names: readonly string[], temperature: number | null): boolean =>
  temperature !== null && fahrenheit.test(names[temperature] ?? '');

/** Those whose titles tell. */
export function columnsNamed(
  header: readonly string[],
): Omit<FoundColumns, 'time'> & { readonly time: number | null } {
  const names = plainNames(header);
  const time = guessed(names, titles.time);
  const humidity = guessed(names, titles.humidity, [time]);
  const temperature = guessed(names, titles.temperature, [time, humidity]);
  return { time, humidity, temperature, isFahrenheit: isInFahrenheit(names, temperature) };
}

const list = (names: readonly string[]): string => names.map((name) => `“${name}”`).join(', ');

/** @throws Error that names the column which is missing, and those there are */
export function findColumns(header: readonly string[], wishes: ColumnWishes): FoundColumns {
  const names = plainNames(header);

  function told(wish: string, what: string): number {
    const at = names.indexOf(wish.normalize('NFKC').trim());
    if (at === -1)
      throw new Error(`There is no column “${wish}” for the ${what}; the file has ${list(names)}.`);
    return at;
  }

  const { timeColumn, humidityColumn, temperatureColumn } = wishes;
  const toldTime = timeColumn === undefined ? null : told(timeColumn, 'time');
  const nothingTold = humidityColumn === undefined && temperatureColumn === undefined;
  const time = toldTime ?? guessed(names, titles.time);
  if (time === null) throw new Error(`Which column holds the time? The file has ${list(names)}.`);
  const humidity = humidityColumn
    ? told(humidityColumn, 'humidity')
    : nothingTold
      ? guessed(names, titles.humidity, [time])
      : null;
  const temperature = temperatureColumn
    ? told(temperatureColumn, 'temperature')
    : nothingTold
      ? guessed(names, titles.temperature, [time, humidity])
      : null;
  if (humidity === null && temperature === null) {
    throw new Error(`Which column holds the humidity or the temperature? The file has ${list(names)}.`);
  }
  return { time, humidity, temperature, isFahrenheit: isInFahrenheit(names, temperature) };
}
