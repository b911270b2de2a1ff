/** Reads an inventory and says of every row what it would do. Keeps nothing itself. */
import { parse } from 'csv-parse/sync';
import type { InstrumentBody, InventoryRow } from '../contract/index.ts';
import { boardSpecies, finishes, instrumentBody, uses, venueBody } from '../contract/index.ts';
import { type Column, columns, fromText, told } from './inventory-columns.ts';

type Fault = InventoryRow['faults'][number];

/** An instrument as it would be kept; its room is named, since it may be new. */
export type ReadInstrument = Omit<InstrumentBody, 'roomId'>;

export interface ReadRow {
  readonly line: number;
  readonly id: string | null;
  readonly venue: string;
  readonly timeZone: string;
  readonly room: string;
  readonly instrument: ReadInstrument | null;
  readonly name: string;
  readonly faults: readonly Fault[];
}

export interface ReadFile {
  readonly faults: readonly Fault[];
  readonly rows: readonly ReadRow[];
}

/** What a row says of which instrument it means. */
export type Named = Pick<ReadRow, 'id' | 'venue' | 'room' | 'name'>;

/** An instrument of which nothing more is known. */
const usual: Omit<ReadInstrument, 'name' | 'kind'> = {
  sizeCm: null,
  year: null,
  serial: null,
  pitchStandardHz: 440,
  use: 'practice',
  board: {
    species: 'spruce-sitka',
    thicknessMm: 8,
    finish: 'varnish',
    construction: 'solid',
    ribbedAtMoisturePct: null,
  },
  remarks: '',
};

const mostRows = 5000;

/** A spreadsheet in many countries separates by semicolons, since the comma is its decimal mark. */
function delimiterOf(csv: string): string {
  const heading = csv.slice(0, csv.search(/[\r\n]|$/));
  const count = (mark: string) => heading.split(mark).length;
  return [',', ';', '\t'].reduce((best, mark) => (count(mark) > count(best) ? mark : best), ',');
}

/**
 * @param usualZone for rows that name no time zone
 * @param keptFor the instrument a row means, where it is known: what the file has no column for stays as it is
 */
export function readInventory(
  csv: string,
  usualZone: string,
  keptFor: (row: Named) => ReadInstrument | null = () => null,
): ReadFile {
  let table: { record: string[]; info: { lines: number } }[];
  try {
    table = parse(csv, {
      bom: true,
      delimiter: delimiterOf(csv),
      relax_column_count: true,
      skip_empty_lines: true,
      trim: true,
      info: true,
    }) as unknown as typeof table;
  } catch (error) {
    const why = error instanceof Error ? error.message.replace(/\s+/g, ' ') : String(error);
    return {
      faults: [{ field: 'csv', sentence: `csv: this is not a readable CSV file (${why})` }],
      rows: [],
    };
  }
  const [heading, ...lines] = table;
  const names = heading?.record.map((name) => name.trim().toLowerCase()) ?? [];
  const known: readonly string[] = [...columns, ...told].map((one) => one.toLowerCase());
  const faults: Fault[] = [];
  for (const needed of ['venue', 'room', 'name', 'kind'] as const) {
    if (!names.includes(needed))
      faults.push({ field: needed, sentence: `${needed}: there is no column "${needed}"` });
  }
  for (const name of names.filter((one) => !known.includes(one)))
    faults.push({ field: name, sentence: `"${name}": this column is not known and would be left out` });
  const twice = names.find((name, i) => names.indexOf(name) !== i);
  if (twice !== undefined) faults.push({ field: twice, sentence: `"${twice}": this column stands twice` });
  if (lines.length > mostRows)
    faults.push({ field: 'csv', sentence: `csv: at most ${mostRows} rows at a time` });
  const stops = faults.some(({ sentence }) => !sentence.includes('would be left out'));
  if (stops) return { faults, rows: [] };
  const rows = lines.map(({ record, info }) => readRow(names, record, info.lines, usualZone, keptFor));
  return { faults, rows: markTwice(rows) };
}

function readRow(
  names: readonly string[],
  record: readonly string[],
  line: number,
  usualZone: string,
  keptFor: (row: Named) => ReadInstrument | null,
): ReadRow {
  const faults: Fault[] = [];
  const say = (field: string, sentence: string) => faults.push({ field, sentence: `${field}: ${sentence}` });
  if (record.length !== names.length)
    say('row', `has ${record.length} cells, the heading has ${names.length}`);
  const has = (column: Column): boolean => names.includes(column.toLowerCase());
  const cell = (column: Column): string => fromText(record[names.indexOf(column.toLowerCase())] ?? '');
  const number = (column: Column): number | null => {
    const text = cell(column).replace(',', '.');
    if (text === '') return null;
    if (/^-?\d+(\.\d+)?$/.test(text)) return Number(text);
    say(column, `"${cell(column)}" is not a number`);
    return null;
  };
  const oneOf = <T extends string>(column: Column, choices: readonly T[], usual: T | null): T | null => {
    const text = cell(column).toLowerCase();
    if (text === '') {
      if (usual === null) say(column, `must be ${choices.join(' or ')}`);
      return usual;
    }
    const found = choices.find((choice) => choice === text);
    if (!found) say(column, `"${cell(column)}" must be ${choices.join(' or ')}`);
    return found ?? null;
  };
  const id = cell('id') === '' ? null : cell('id').toLowerCase();
  if (id !== null && !/^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/.test(id))
    say('id', 'must be a UUID, or empty');
  const venue = cell('venue');
  const timeZone = cell('time zone') || usualZone;
  if (venue === '') say('venue', 'must not be empty');
  const zone = venueBody.safeParse({ name: venue || '?', timeZone });
  if (!zone.success) say('time zone', `"${timeZone}" must be an IANA time zone such as Europe/Vienna`);
  const room = cell('room');
  if (room === '' || room.length > 120)
    say('room', room === '' ? 'must not be empty' : 'must be at most 120 characters long');
  const name = cell('name');
  const before = keptFor({ id, venue, room, name }) ?? usual;
  const { board } = before;
  const body = {
    name,
    kind: oneOf('kind', ['grand', 'upright'], null),
    sizeCm: has('size cm') ? number('size cm') : before.sizeCm,
    year: has('year') ? number('year') : before.year,
    serial: has('serial') ? cell('serial') || null : before.serial,
    pitchStandardHz: number('pitch Hz') ?? before.pitchStandardHz,
    use: oneOf('use', uses, before.use),
    board: {
      species: oneOf('board species', boardSpecies, board.species),
      thicknessMm: number('board thickness mm') ?? board.thicknessMm,
      finish: oneOf('board finish', finishes, board.finish),
      construction: oneOf('board construction', ['solid', 'laminated'], board.construction),
      ribbedAtMoisturePct: has('ribbed at moisture %')
        ? number('ribbed at moisture %')
        : board.ribbedAtMoisturePct,
    },
    remarks: has('remarks') ? cell('remarks') : before.remarks,
  };
  const parsed = instrumentBody.safeParse({ ...body, roomId: '00000000-0000-4000-8000-000000000000' });
  if (!parsed.success && faults.length === 0) {
    for (const issue of parsed.error.issues) say(columnOf(issue.path.map(String)), sentenceOf(issue));
  }
  const { roomId: _roomId, ...instrument } = parsed.success ? parsed.data : { roomId: '' };
  return {
    line,
    id,
    venue,
    timeZone,
    room,
    name,
    instrument: parsed.success && faults.length === 0 ? (instrument as ReadInstrument) : null,
    faults,
  };
}

const columnNames: Readonly<Record<string, Column>> = {
  name: 'name',
  sizeCm: 'size cm',
  year: 'year',
  serial: 'serial',
  pitchStandardHz: 'pitch Hz',
  'board.thicknessMm': 'board thickness mm',
  'board.ribbedAtMoisturePct': 'ribbed at moisture %',
  remarks: 'remarks',
};
const columnOf = (path: readonly string[]): string => columnNames[path.join('.')] ?? path.join('.');

function sentenceOf(issue: { code: string; maximum?: unknown; minimum?: unknown; message: string }): string {
  if (issue.code === 'too_big') return `must be at most ${issue.maximum}`;
  if (issue.code === 'too_small')
    return issue.minimum === 1 ? 'must not be empty' : `must be at least ${issue.minimum}`;
  return issue.message.replace(/^Invalid input: /, '') || 'cannot be read';
}

/** Two rows for one instrument contradict each other. */
function markTwice(rows: readonly ReadRow[]): ReadRow[] {
  const first = new Map<string, number>();
  return rows.map((row) => {
    const keys = [`${row.venue}|${row.room}|${row.name}`.toLowerCase(), ...(row.id ? [row.id] : [])];
    const before = keys.map((key) => first.get(key)).find((line) => line !== undefined);
    for (const key of keys) if (!first.has(key)) first.set(key, row.line);
    if (before === undefined) return row;
    const sentence = `row: the same instrument stands in line ${before}`;
    return { ...row, instrument: null, faults: [...row.faults, { field: 'row', sentence }] };
  });
}
