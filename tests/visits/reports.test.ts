/** Reports as they come out of the service: their words by pdftotext, their pages by pdftoppm, their codes read back. */
import { execFile } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { mkdirSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { setImmediate as turn } from 'node:timers/promises';
import { promisify } from 'node:util';
import jsQR from 'jsqr';
import sharp from 'sharp';
import { describe, expect, test } from 'vitest';
import { nothingMeasured, roomBody } from '../support/api.ts';
import { hasProgram } from '../support/service.ts';
import { standing } from '../support/standing.ts';
import { reportedVisit } from './reported-visit.ts';
import { finding, inspection } from './sheet.ts';

// `jsqr` is a CommonJS module whose types say default.
type Corner = { readonly x: number; readonly y: number };
type ReadCode = (
  pixels: Uint8ClampedArray,
  width: number,
  height: number,
) => { data: string; location: { topLeftCorner: Corner; topRightCorner: Corner } } | null;
const readCode = jsQR as unknown as ReadCode;
/** Not waited for in one go: a busy machine would let connections to the service grow stale. */
const program = async (name: string, words: string[]): Promise<string> =>
  (await promisify(execFile)(name, words, { encoding: 'utf8', maxBuffer: 64_000_000 })).stdout;
const pictures = path.resolve(import.meta.dirname, '../../.test-output/reports');
const hourMs = 3_600_000;

// A busy machine takes a minute to draw some pages.
describe.skipIf(!(hasProgram('pdftotext') && hasProgram('pdftoppm')))('reports', { timeout: 240_000 }, () => {
  const nowMs = Date.now();
  const stage = standing((undo) => {
    mkdirSync(pictures, { recursive: true });
    return reportedVisit(undo, nowMs);
  });

  async function fetchPdf(name: string, address: string) {
    // The programs below hold this process; connections that the service has closed meanwhile are noticed in the second turn.
    await turn();
    await turn();
    const answer = await fetch(stage.service.url + address);
    expect(answer.status, address).toBe(200);
    expect(answer.headers.get('content-type')).toBe('application/pdf');
    const file = path.join(pictures, `${name}.pdf`);
    const bytes = Buffer.from(await answer.arrayBuffer());
    writeFileSync(file, bytes);
    const text = await program('pdftotext', ['-layout', file, '-']);
    const info = await program('pdfinfo', [file]);
    await program('pdftoppm', ['-r', '70', '-png', file, path.join(pictures, name)]);
    return { file, text: text.replace(/[\s\u00a0]+/g, ' '), info, raw: bytes.toString('latin1') };
  }

  test("the client's report says everything, with its range of time and money", async () => {
    const { text, info, raw } = await fetchPdf('visit', `/api/visits/${stage.visitId}/report.pdf`);
    expect(info).toMatch(/Title: +Grand “Żółw” 185 cm, visit of /);
    expect(raw).toContain('/Lang (en-GB)');
    expect(raw).toContain('/Outlines');
    for (const words of [
      'Marten & Sedge, pianos',
      'Ж 12345',
      '2 findings: 1 major, 1 minor. 1 should be seen to soon.',
      'Separated ribs: major. Third rib from the treble; 2.5 mm, above normal (0 mm)',
      'Major work, immediate.',
      'Free return, C3 to C5: minor. Because of: bushings: side play.',
      'First graded moderate; changed because better after easing.',
      'Not examined: Centres: drop or swing test (no time).',
      'Dip of a natural 10.1 mm, normal (9.5 to 10.8 mm)',
      '−5.1 cents (438.7 Hz)',
      '−9 cents (130.13 Hz)',
      'slow beat (2 to 3 cents), 3 sampled: C3,',
      '0.3 cents, 5 sampled',
      '5 N·m (normal 6.8 to 13.6)',
      'For 2 % of the time nothing was measured.',
      'outside the wished 38 to 52 %',
      'What must be done',
      'What could be done',
      'Rib, from below',
      'This photo is still on the device that took it.',
      'Unplug before filling or opening',
      'word1999',
      'E. Marten',
      'Offers hold for sixty days.',
    ])
      expect(text.includes(words), words).toBe(true);
    // 90 min at 78.00 an hour and 15.00 of parts; all: likely 180 min, below √(45²+30²), above √(90²+30²).
    expect(text).toContain('likely €132.00');
    expect(text).toContain('2 h 6 min to 4 h 35 min, likely 3 h');
    expect(text).toMatch(/All of it: .*likely €249\.00/);
  });

  /** What a reader of the structure is told: types with their texts, by Poppler. */
  const structure = (name: string) =>
    program('pdfinfo', ['-struct-text', path.join(pictures, `${name}.pdf`)]);
  /** Texts of a structure in reading order, lines joined. */
  const spoken = (tree: string) =>
    [...tree.matchAll(/^ *"(.*)"$/gm)]
      .map(([, words]) => words)
      .join(' ')
      .replace(/\s+/g, ' ');

  test.each([
    ['visit', () => `/api/visits/${stage.visitId}/report.pdf`, 3],
    ['season', () => `/api/venues/${stage.house.venueId}/season.pdf`, 1],
    ['blank-grand', () => '/api/blank-sheet.pdf?kind=grand', 0],
  ])(
    '%s is tagged: headings, tables with heads, figures with words, all of its text',
    async (name, address, figures) => {
      const { text, info, raw } = await fetchPdf(name, address());
      // ISO 32000-1, 14.7 and 14.8: a tagged document is marked so, and has a structure that its text hangs from.
      expect(info).toMatch(/Tagged: +yes/);
      expect(raw).toMatch(/\/StructTreeRoot \d+ 0 R/);
      const tree = await structure(name);
      expect(tree).toMatch(/^Document\n/);
      expect(tree.match(/^ *H1 /gm)).toHaveLength(1);
      // Every heading is a bookmark too; one title more is the document's own.
      const headings = [...tree.matchAll(/^ *H[12] .*\n *"(.*)"$/gm)].map(([, words]) => words);
      expect(headings.length).toBeGreaterThan(3);
      expect(raw.match(/^\/Title /gm)).toHaveLength(headings.length + 1);
      expect(tree).toContain('/Scope /Column');
      expect(tree).toContain('/Scope /Row');
      expect(raw.match(/\/S \/Figure/g) ?? []).toHaveLength(figures);
      expect(raw.match(/\/Alt \(/g) ?? []).toHaveLength(figures);
      // Nothing but the foot, and the heads of tables on their further pages, stands outside the structure.
      const heard = new Set(spoken(tree).split(' '));
      const title = /^Title: +(.*)$/m.exec(info)?.[1] ?? '';
      const foot = new Set([...title.split(' '), 'of', ...'123456789']);
      // The chart's own scale is part of its figure, which is told in words.
      const scale = /^(\d{1,3}|°C|[A-Z][a-z]{2,3})$/;
      const silent = text
        .split(' ')
        .filter((word) => word !== '' && !heard.has(word) && !foot.has(word))
        .filter((word) => figures === 0 || !scale.test(word));
      expect(silent).toEqual([]);
    },
  );

  test('what a table says is heard row by row, and a repeated head only once', async () => {
    const tree = await structure('visit');
    const heard = spoken(tree);
    expect(heard).toContain(
      'Site and case no symptoms Soundboard and ribs major Separated ribs: major. Third rib from the treble; 2.5 mm, above normal (0 mm).',
    );
    expect(heard.match(/What was found/g)).toHaveLength(1);
  });

  test('of a tuning alone the report tells the tuning, and names nothing as unexamined', async () => {
    const { instrumentId } = await stage.client.house();
    const { id, ...body } = inspection(instrumentId, nowMs - hourMs, [], {
      sound: [],
      workDone: [{ job: 'tuning', words: 'Tuning', minutes: 85 }],
    });
    const zero = { unit: 'cents', value: 0 };
    await stage.client.put(`/api/visits/${id}`, { ...body, asLeft: { ...nothingMeasured, tenor: zero } });
    const { text } = await fetchPdf('tuning', `/api/visits/${id}/report.pdf`);
    expect(text).toContain('The piano was tuned. Nothing was found that needs work.');
    expect(text).not.toContain('Condition by assembly');
    expect(text).not.toContain('Nothing of these was looked at');
  });

  test('what endangers is said beside its finding, also where nothing is proposed', async () => {
    const { instrumentId, venueId } = await stage.client.house();
    const lid = finding({ itemId: 'case.lid', assembly: 'site and case', part: 'Lid and hinges' });
    const { id, ...body } = inspection(instrumentId, nowMs - hourMs, [lid]);
    await stage.client.put(`/api/visits/${id}`, body);
    const { text } = await fetchPdf('lid', `/api/visits/${id}/report.pdf`);
    expect(text).toContain('A lid without its hinge pins can slide off: do not open it alone.');
    // Of what is sound nothing is warned.
    expect(text).not.toContain('A loose leg can give way');
    expect(text).toContain('Where Larkmoor School of Music, Studio 2 ');

    // Moved since, it was seen where it then stood.
    const [roomId, moved] = [randomUUID(), { instrumentId, atMs: nowMs - 60_000, words: '' }];
    await stage.client.put(`/api/rooms/${roomId}`, { ...roomBody, venueId, name: 'Hall' });
    await stage.client.put(`/api/moves/${randomUUID()}`, { ...moved, roomId });
    const later = await fetchPdf('lid-moved', `/api/visits/${id}/report.pdf`);
    expect(later.text).toContain('Where Larkmoor School of Music, Studio 2 ');
  });

  test('without prices no money is told', async () => {
    const { text } = await fetchPdf(
      'visit-without-prices',
      `/api/visits/${stage.visitId}/report.pdf?prices=no`,
    );
    expect(text).toContain('Ease keys');
    expect(text).not.toContain('€');
  });

  test('the climate is drawn as vectors: lines of the chart, and one photo as the only picture', async () => {
    const file = path.join(pictures, 'visit.pdf');
    const images = await program('pdfimages', ['-list', file]);
    expect(images.split('\n').filter((line) => / image /.test(line))).toHaveLength(1);
  });

  test('the season of a venue', async () => {
    const { text } = await fetchPdf('season', `/api/venues/${stage.house.venueId}/season.pdf`);
    expect(text).toContain('2 visits were made, 1 of them tunings, to 1 instrument.');
    expect(text).toContain('Humidity in the room was between 30 and 45 %');
    const wrong = await fetch(
      `${stage.service.url}/api/venues/${stage.house.venueId}/season.pdf?from=${nowMs}&to=5`,
    );
    expect(wrong.status).toBe(400);
    expect((await fetch(`${stage.service.url}/api/venues/${randomUUID()}/season.pdf`)).status).toBe(404);
  });

  test.each(['a4-21', 'a4-24', 'letter-30'])('codes on a sheet of %s open the visit sheet', async (sheet) => {
    const { file } = await fetchPdf(
      `labels-${sheet}`,
      `/api/labels.pdf?venue=${stage.house.venueId}&sheet=${sheet}&skip=4`,
    );
    const page = path.join(pictures, `labels-${sheet}-fine`);
    await program('pdftoppm', ['-r', '200', '-png', '-singlefile', file, page]);
    const { data, info } = await sharp(`${page}.png`)
      .ensureAlpha()
      .raw()
      .toBuffer({ resolveWithObject: true });
    const code = readCode(new Uint8ClampedArray(data), info.width, info.height);
    expect(code?.data).toBe(`${stage.service.url}/instruments/${stage.house.instrumentId}/sheet`);
    // As wide as the label allows: from memory, phones want squares of half a millimetre at a hand's distance.
    const { topLeftCorner: left, topRightCorner: right } = code?.location ?? {};
    const wideMm = (((right?.x ?? 0) - (left?.x ?? 0)) / 200) * 25.4;
    expect(wideMm).toBeGreaterThan(sheet === 'letter-30' ? 17.5 : 25);
  });

  test('the blank sheet has every item, for grand and upright', async () => {
    const grand = await fetchPdf('blank-grand', '/api/blank-sheet.pdf?kind=grand');
    const upright = await fetchPdf('blank-upright', '/api/blank-sheet.pdf?kind=upright');
    expect(grand.text).toContain('Sostenuto pedal');
    expect(grand.text).toContain('44 to 49 mm');
    expect(upright.text).toContain('38 to 50 mm');
    expect(upright.text).not.toContain('Sostenuto pedal');
  });
});
