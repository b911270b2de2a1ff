/** The inventory with condition classes as CSV (RFC 4180). */
import type { FleetRow, Instrument } from '../contract/index.ts';
import { asText, type Column, columns, told } from './inventory-columns.ts';

export interface InventoryEntry {
  readonly instrument: Instrument & {
    readonly venueName: string;
    readonly roomName: string;
    readonly timeZone: string;
  };
  readonly fleet: Pick<FleetRow, 'classes' | 'inspectedMs' | 'climateRisk' | 'priority'> | null;
}

const quoted = (cell: string): string => (/[",\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell);
const number = (value: number | null | undefined): string =>
  value === null || value === undefined ? '' : String(value);

function cells({ instrument: i, fleet }: InventoryEntry): string[] {
  const own: Record<Column, string> = {
    id: i.id,
    venue: asText(i.venueName),
    'time zone': i.timeZone,
    room: asText(i.roomName),
    name: asText(i.name),
    kind: i.kind,
    'size cm': number(i.sizeCm),
    year: number(i.year),
    serial: asText(i.serial ?? ''),
    'pitch Hz': number(i.pitchStandardHz),
    use: i.use,
    'board species': i.board.species,
    'board thickness mm': number(i.board.thicknessMm),
    'board finish': i.board.finish,
    'board construction': i.board.construction,
    'ribbed at moisture %': number(i.board.ribbedAtMoisturePct),
    remarks: asText(i.remarks),
  };
  const inspected = fleet?.inspectedMs ? new Date(fleet.inspectedMs).toISOString().slice(0, 10) : '';
  const seen = [
    number(fleet?.classes.belly),
    number(fleet?.classes.pinblock),
    number(fleet?.classes.action),
    number(fleet?.classes.case),
    inspected,
    number(fleet?.climateRisk),
    number(fleet?.priority),
  ];
  return [...columns.map((column) => own[column]), ...seen];
}

export function inventoryCsv(entries: readonly InventoryEntry[]): string {
  const lines = [[...columns, ...told], ...entries.map(cells)];
  // The mark at the start lets spreadsheets read it as UTF-8.
  return `\ufeff${lines.map((line) => line.map(quoted).join(',')).join('\r\n')}\r\n`;
}
