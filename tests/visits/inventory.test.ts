/** An inventory as CSV: looked at first, faulty rows told one by one, kept once, and read back as it was written. */
import { randomUUID } from 'node:crypto';
import { expect, test } from 'vitest';
import type {
  InstrumentSummary,
  InventoryKept,
  InventoryPreview,
  Move,
} from '../../server/contract/index.ts';
import { serviceStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';

const timeZone = 'Europe/Vienna';
const stage = standing(serviceStage);

const preview = async (csv: string) =>
  (await stage.client.ask('POST', '/api/inventory/preview', { csv, timeZone })).body as InventoryPreview;
const keep = async (id: string, csv: string) =>
  (await stage.client.ask('PUT', `/api/inventory/${id}`, { csv, timeZone })).body as InventoryKept;
const list = () => stage.client.get<InstrumentSummary[]>('/api/instruments');

const csv = [
  'venue,room,name,kind,size cm,year,serial,use,remarks',
  'Rowan College,Practice 1,Upright A,upright,118,1988,12 345,practice,"needs a key, ask"',
  'Rowan College,Practice 2,Grand B,grand,170,2004,,studio,=SUM(A1)',
  'Rowan College,Practice 3,Grand C,harpsichord,170,2004,,studio,',
  'Rowan College,Practice 3,Grand D,grand,17,1604,,studio,',
  'Rowan College,Practice 2,grand b,grand,170,2004,,studio,',
  'Rowan College,Practice 4,,upright,,,,,',
].join('\n');

test('a preview tells what each row would do, and keeps nothing', async () => {
  const seen = await preview(csv);
  expect(seen.faults).toEqual([]);
  expect(seen.rows.map(({ line, does }) => [line, does])).toEqual([
    [2, 'new'],
    [3, 'new'],
    [4, 'faulty'],
    [5, 'faulty'],
    [6, 'faulty'],
    [7, 'faulty'],
  ]);
  const sentences = seen.rows.flatMap(({ faults }) => faults.map(({ sentence }) => sentence));
  expect(sentences).toEqual([
    'kind: "harpsichord" must be grand or upright',
    'size cm: must be at least 80',
    'year: must be at least 1700',
    'row: the same instrument stands in line 3',
    'name: must not be empty',
  ]);
  expect(seen.newVenues).toEqual(['Rowan College']);
  expect(seen.newRooms).toEqual(['Rowan College · Practice 1', 'Rowan College · Practice 2']);
  expect(await list()).toEqual([]);
});

test('good rows are kept once, faulty ones left; what it wrote it reads back unchanged', async () => {
  const id = randomUUID();
  expect(await keep(id, csv)).toEqual({ made: 2, changed: 0, left: 4 });
  expect(await keep(id, csv)).toEqual({ made: 0, changed: 0, left: 6 });
  const kept = await list();
  expect(kept.map(({ name }) => name).toSorted()).toEqual(['Grand B', 'Upright A']);
  expect(kept.find(({ name }) => name === 'Grand B')?.remarks).toBe('=SUM(A1)');

  const answer = await fetch(`${stage.service.url}/api/inventory.csv`);
  expect(answer.headers.get('content-type')).toBe('text/csv; charset=utf-8');
  const written = await answer.text();
  // A spreadsheet must not take it for a formula.
  expect(written).toContain(`'=SUM(A1)`);
  const again = await preview(written);
  expect(again.faults).toEqual([]);
  expect(again.rows.map(({ does }) => does)).toEqual(['same', 'same']);
  expect(await keep(randomUUID(), written)).toEqual({ made: 0, changed: 0, left: 2 });
  expect(await (await fetch(`${stage.service.url}/api/inventory.csv`)).text()).toBe(written);
});

test('a changed cell changes its instrument, found by its id though it has another name', async () => {
  const written = await (await fetch(`${stage.service.url}/api/inventory.csv`)).text();
  const changed = written.replace('Upright A', 'Upright, the old one'.replace(/^(.*,.*)$/, '"$1"'));
  expect((await preview(changed)).rows.map(({ does }) => does).toSorted()).toEqual(['changes', 'same']);
  expect(await keep(randomUUID(), changed)).toEqual({ made: 0, changed: 1, left: 1 });
  expect((await list()).map(({ name }) => name).toSorted()).toEqual(['Grand B', 'Upright, the old one']);
});

test('what a file has no column for stays as it is, and another room is a move as of today', async () => {
  const before = (await list()).find(({ name }) => name === 'Grand B');
  if (!before) throw new Error('kept above');
  const { id, roomId } = before;
  await stage.client.put(`/api/instruments/${id}`, {
    ...{ roomId, name: 'Grand B', kind: 'grand', sizeCm: 170, year: 2004, serial: 'B-7' },
    ...{
      pitchStandardHz: 442,
      use: 'concert',
      board: { ...before.board, thicknessMm: 9 },
      remarks: 'tall lid',
    },
  });
  const known = await stage.client.instrument(id);
  const same = 'venue,room,name,kind,use\nRowan College,Practice 2,Grand B,grand,\n';
  expect((await preview(same)).rows.map(({ does }) => does)).toEqual(['same']);
  const beforeMs = Date.now();
  const moved = `id,venue,room,name,kind,year\n${id},Rowan College,Hall,Grand B,grand,2005\n`;
  expect(await keep(randomUUID(), moved)).toEqual({ made: 0, changed: 1, left: 0 });
  const { remarks, serial, sizeCm, year, use, pitchStandardHz, board, roomName } =
    await stage.client.instrument(id);
  expect({ remarks, serial, sizeCm, use, pitchStandardHz, board }).toEqual({
    ...{ remarks: 'tall lid', serial: 'B-7', sizeCm: 170, use: 'concert', pitchStandardHz: 442 },
    board: known.board,
  });
  expect([year, roomName]).toEqual([2005, 'Hall']);
  const moves = await stage.client.get<Move[]>(`/api/moves?instrument=${id}`);
  expect(moves.map(({ words }) => words)).toEqual(['by the inventory']);
  expect(moves[0]?.atMs).toBeGreaterThanOrEqual(beforeMs);
  expect(moves[0]?.atMs).toBeLessThanOrEqual(Date.now());
});

test('semicolons and decimal commas, as spreadsheets in many countries write them', async () => {
  const seen = await preview(
    'venue;room;name;kind;size cm;pitch Hz\r\nRowan College;Hall;Grand E;Grand;274,5;442\r\n',
  );
  expect(seen.rows).toMatchObject([{ does: 'new', faults: [] }]);
});

test('a file that is none, or lacks a column, says so', async () => {
  expect((await preview('hello')).faults.map(({ field }) => field)).toEqual(
    expect.arrayContaining(['venue', 'room', 'name', 'kind']),
  );
  expect((await preview('a,b\n"open')).faults[0]?.sentence).toMatch(/not a readable CSV file/);
  const unknown = await preview('venue,room,name,kind,colour\nRowan College,Hall,Grand F,grand,red');
  expect(unknown.faults[0]?.sentence).toBe('"colour": this column is not known and would be left out');
  expect(unknown.rows[0]?.does).toBe('new');
  const short = await preview('venue,room,name,kind\nRowan College,Hall');
  expect(short.rows[0]?.faults[0]?.sentence).toBe('row: has 2 cells, the heading has 4');
});
