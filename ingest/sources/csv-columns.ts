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

const titles = {
  time: /^(?:t|time|date|datum|zeit|timestamp|aika)\b|^t_|date.?time|time.?stamp|zeit/i,
  humidity: /^(?:rh|h|hum|rf|hr)$|humid|^rh\b|\brh\b|%\s*rh|feuchte|humedad|humidit/i,
  temperature: /^(?:t|temp|ta)$|temp|°\s*c|\bcel(?:sius)?\b/i,
};
const fahrenheit = /°\s*f|fahrenheit|degf|\(f\)/i;

export const delimiters = [';', '\t', ',', '|'] as const;

/** The one that cuts the title line into most pieces. */
export function guessDelimiter(titleLine: string): string {
  const pieces = (delimiter: string): number => titleLine.split(delimiter).length;
  return delimiters.reduce((best, delimiter) => (pieces(delimiter) > pieces(best) ? delimiter : best), ',');
}

const list = (names: readonly string[]): string => names.map((name) => `“${name}”`).join(', ');

/** @throws Error that names the column which is missing, and those there are */
export function findColumns(header: readonly string[], wishes: ColumnWishes): FoundColumns {
  const names = header.map((name) => name.normalize('NFKC').trim());

  function told(wish: string, what: string): number {
    const at = names.indexOf(wish.normalize('NFKC').trim());
    if (at === -1)
      throw new Error(`There is no column “${wish}” for the ${what}; the file has ${list(names)}.`);
    return at;
  }
  function guessed(title: RegExp, taken: readonly (number | null)[]): number | null {
    const at = names.findIndex((name, index) => !taken.includes(index) && title.test(name));
    return at === -1 ? null : at;
  }

  const { timeColumn, humidityColumn, temperatureColumn } = wishes;
  const toldTime = timeColumn === undefined ? null : told(timeColumn, 'time');
  const nothingTold = humidityColumn === undefined && temperatureColumn === undefined;
  const time = toldTime ?? guessed(titles.time, []);
  if (time === null) throw new Error(`Which column holds the time? The file has ${list(names)}.`);
  const humidity = humidityColumn
    ? told(humidityColumn, 'humidity')
    : nothingTold
      ? guessed(titles.humidity, [time])
      : null;
  const temperature = temperatureColumn
    ? told(temperatureColumn, 'temperature')
    : nothingTold
      ? guessed(titles.temperature, [time, humidity])
      : null;
  if (humidity === null && temperature === null) {
    throw new Error(`Which column holds the humidity or the temperature? The file has ${list(names)}.`);
  }
  const isFahrenheit = fahrenheit.test(temperature === null ? '' : (names[temperature] ?? ''));
  return { time, humidity, temperature, isFahrenheit };
}
