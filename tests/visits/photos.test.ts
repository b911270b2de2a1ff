/** Photos: decoded and encoded anew, position removed, other formats refused whatever their name, sent twice is once. */
import { randomUUID } from 'node:crypto';
import sharp from 'sharp';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { PhotoReceipt, Problem } from '../../server/contract/index.ts';
import { api } from '../support/api.ts';
import { type RunningService, startService, temporaryFolder } from '../support/service.ts';

const folder = temporaryFolder();
let service: RunningService;
let instrumentId: string;

beforeAll(async () => {
  service = await startService(folder.path);
  ({ instrumentId } = await api(service.url).house());
});
afterAll(async () => {
  await service.kill('SIGTERM');
  folder.remove();
});

async function put(bytes: Uint8Array, id: string = randomUUID(), type = 'image/jpeg') {
  const answer = await fetch(`${service.url}/api/instruments/${instrumentId}/photos/${id}`, {
    method: 'PUT',
    headers: { 'content-type': type },
    body: Buffer.from(bytes),
  });
  return { id, status: answer.status, body: (await answer.json()) as PhotoReceipt & Problem };
}

const picture = (width: number, height: number) =>
  sharp({ create: { width, height, channels: 3, background: { r: 120, g: 90, b: 60 } } });

/** As a phone writes it: turned by a flag, with a position. */
const fromPhone = () =>
  picture(1200, 900)
    .withExif({
      IFD0: { Make: 'Invented' },
      IFD3: {
        GPSLatitudeRef: 'N',
        GPSLatitude: '48/1 12/1 30/1',
        GPSLongitudeRef: 'E',
        GPSLongitude: '16/1 22/1 0/1',
      },
    })
    .withMetadata({ orientation: 6 })
    .jpeg()
    .toBuffer();

test('the position goes, the picture stands upright, and a small one is made', async () => {
  const sent = await fromPhone();
  // What is checked to be gone was there.
  const before = await sharp(sent).metadata();
  expect(before.exif?.includes(Buffer.from('Invented'))).toBe(true);
  expect(before.orientation).toBe(6);
  const { id, status, body } = await put(sent);
  expect(status).toBe(200);
  expect([body.widthPx, body.heightPx]).toEqual([900, 1200]);
  const large = Buffer.from(await (await fetch(`${service.url}/api/photos/${id}`)).arrayBuffer());
  const kept = await sharp(large).metadata();
  expect({ format: kept.format, exif: kept.exif, icc: kept.icc, xmp: kept.xmp, width: kept.width }).toEqual({
    format: 'jpeg',
    exif: undefined,
    icc: undefined,
    xmp: undefined,
    width: 900,
  });
  expect(large.includes(Buffer.from('Invented'))).toBe(false);
  const small = await fetch(`${service.url}/api/photos/${id}?size=small`);
  expect(small.headers.get('cache-control')).toMatch(/^private/);
  const { width, height } = await sharp(Buffer.from(await small.arrayBuffer())).metadata();
  expect([width, height]).toEqual([240, 320]);
});

test('the same photo twice is once; another one under its id is refused', async () => {
  const bytes = await picture(300, 200).jpeg().toBuffer();
  const first = await put(bytes);
  expect((await put(bytes, first.id)).body).toEqual(first.body);
  const other = await put(await picture(301, 200).jpeg().toBuffer(), first.id);
  expect(other.status).toBe(409);
});

test('two sendings of one photo at once make one', async () => {
  const bytes = await picture(1500, 1000).jpeg().toBuffer();
  const id = randomUUID();
  const both = await Promise.all([put(bytes, id), put(bytes, id)]);
  expect(both.map(({ status }) => status)).toEqual([200, 200]);
});

test.each([
  ['a TIFF named .jpg', () => picture(20, 20).tiff().toBuffer(), 'a TIFF file'],
  [
    'an SVG with a script',
    async () => Buffer.from('<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'),
    'an SVG or XML file',
  ],
  ['words', async () => Buffer.from('hello'), 'an unknown file'],
  ['a JPEG cut short', async () => (await picture(400, 400).jpeg().toBuffer()).subarray(0, 700), 'damaged'],
  ['nothing', async () => Buffer.alloc(0), 'empty'],
])('%s is refused in a sentence', async (_name, make, sentence) => {
  const { status, body } = await put(await make());
  expect(status).toBe(415);
  expect(body.detail).toContain(sentence);
});

test('60 MB are refused, and the service goes on', async () => {
  const { status, body } = await put(Buffer.alloc(60_000_000, 0xff));
  expect(status).toBe(413);
  expect(body.detail).toBe('photo: at most 12 MB; send it smaller');
  expect((await put(await picture(50, 50).png().toBuffer())).status).toBe(200);
});

test('a picture with more pixels than fit the memory is refused before it is decoded', async () => {
  // 20,000 × 10,000 of one colour: a small file, 600 MB decoded.
  const bytes = await picture(20_000, 10_000).png({ compressionLevel: 9 }).toBuffer();
  expect(bytes.length).toBeLessThan(12_000_000);
  const { status, body } = await put(bytes);
  expect(status).toBe(415);
  expect(body.detail).toMatch(/million pixels/);
});

test('a photo of nobody, or to an instrument of nobody, is not found', async () => {
  expect((await fetch(`${service.url}/api/photos/${randomUUID()}`)).status).toBe(404);
  const answer = await fetch(`${service.url}/api/instruments/${randomUUID()}/photos/${randomUUID()}`, {
    method: 'PUT',
    headers: { 'content-type': 'image/jpeg' },
    body: Buffer.from(await picture(10, 10).jpeg().toBuffer()),
  });
  expect(answer.status).toBe(404);
});
