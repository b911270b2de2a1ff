/** The columns of an inventory file, in the order they are written. Read back by name, in any order. */
export const columns = [
  'id',
  'venue',
  'time zone',
  'room',
  'name',
  'kind',
  'size cm',
  'year',
  'serial',
  'pitch Hz',
  'use',
  'board species',
  'board thickness mm',
  'board finish',
  'board construction',
  'ribbed at moisture %',
  'remarks',
] as const;
export type Column = (typeof columns)[number];

/** Written beside them and not read back: they come from inspections. */
export const told = ['belly', 'pinblock', 'action', 'case', 'inspected', 'climate risk', 'priority'] as const;

/** A cell that a spreadsheet would take for a formula is written as text, and read back as it was. */
export const asText = (cell: string): string => (/^['=+\-@\t\r]/.test(cell) ? `'${cell}` : cell);
export const fromText = (cell: string): string => (/^'['=+\-@\t\r]/.test(cell) ? cell.slice(1) : cell);
