/** Photos: decoded and encoded anew, position removed, other formats refused whatever their name, sent twice is once. */
import { createHash, randomBytes, randomUUID } from 'node:crypto';
import { once } from 'node:events';
import { connect } from 'node:net';
import path from 'node:path';
import Database from 'better-sqlite3';
import sharp from 'sharp';
import { expect, test } from 'vitest';
import type { PhotoReceipt, PhotoReceived, Problem } from '../../server/contract/index.ts';
import { serviceStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';

const stage = standing(async (undo) => {
  const stage = await serviceStage(undo);
  const { instrumentId } = await stage.client.house();
  return { ...stage, instrumentId };
});

async function put(bytes: Uint8Array, id: string = randomUUID(), type = 'image/jpeg') {
  const answer = await fetch(`${stage.service.url}/api/instruments/${stage.instrumentId}/photos/${id}`, {
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
  const large = Buffer.from(await (await fetch(`${stage.service.url}/api/photos/${id}`)).arrayBuffer());
  const kept = await sharp(large).metadata();
  expect({ format: kept.format, exif: kept.exif, icc: kept.icc, xmp: kept.xmp, width: kept.width }).toEqual({
    format: 'jpeg',
    exif: undefined,
    icc: undefined,
    xmp: undefined,
    width: 900,
  });
  expect(large.includes(Buffer.from('Invented'))).toBe(false);
  const small = await fetch(`${stage.service.url}/api/photos/${id}?size=small`);
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
  expect((await fetch(`${stage.service.url}/api/photos/${randomUUID()}`)).status).toBe(404);
  const answer = await fetch(`${stage.service.url}/api/instruments/${randomUUID()}/photos/${randomUUID()}`, {
    method: 'PUT',
    headers: { 'content-type': 'image/jpeg' },
    body: Buffer.from(await picture(10, 10).jpeg().toBuffer()),
  });
  expect(answer.status).toBe(404);
});

/** Of one piece each: noise does not shrink, so there is something to cut. */
const noise = (seed: number) => {
  const [width, height] = [400, 300];
  const raw = Buffer.from(
    Array.from({ length: width * height * 3 }, (_, i) => (i * 7919 * seed + (i >> 3)) % 251),
  );
  return sharp(raw, { raw: { width, height, channels: 3 } })
    .jpeg({ quality: 90 })
    .toBuffer();
};
const digest = (bytes: Uint8Array) => `sha-256=:${createHash('sha256').update(bytes).digest('base64')}:`;
const received = async (id: string) =>
  (await (await fetch(`${stage.service.url}/api/photos/${id}/received`)).json()) as PhotoReceived;

async function putPart(whole: Uint8Array, id: string, from: number, to: number, told = digest(whole)) {
  const answer = await fetch(`${stage.service.url}/api/instruments/${stage.instrumentId}/photos/${id}`, {
    method: 'PUT',
    headers: {
      'content-type': 'image/jpeg',
      'content-range': `bytes ${from}-${to - 1}/${whole.length}`,
      'repr-digest': told,
    },
    body: Buffer.from(whole.subarray(from, to)),
  });
  return { status: answer.status, body: (await answer.json()) as PhotoReceipt & PhotoReceived & Problem };
}

test('a photo cut within a part goes on from the last whole part, also after the service began anew', async () => {
  const bytes = await noise(3);
  const id = randomUUID();
  const [third, twoThirds] = [Math.floor(bytes.length / 3), Math.floor((bytes.length * 2) / 3)];
  expect(await received(id)).toEqual({ receivedBytes: 0, whole: false });
  expect((await putPart(bytes, id, 0, third)).body).toEqual({ receivedBytes: third, whole: false });

  // The line breaks in the midst of the second part.
  const { hostname, port } = new URL(stage.service.url);
  const line = connect(Number(port), hostname);
  await once(line, 'connect');
  line.write(
    `PUT /api/instruments/${stage.instrumentId}/photos/${id} HTTP/1.1\r\nHost: ${hostname}:${port}\r\n` +
      `Content-Type: image/jpeg\r\nContent-Range: bytes ${third}-${twoThirds - 1}/${bytes.length}\r\n` +
      `Content-Length: ${twoThirds - third}\r\n\r\n`,
  );
  line.write(bytes.subarray(third, third + 1000));
  line.destroy();
  await once(line, 'close');
  expect(await received(id)).toEqual({ receivedBytes: third, whole: false });

  await stage.service.restart('SIGKILL');
  expect(await received(id)).toEqual({ receivedBytes: third, whole: false });
  expect((await putPart(bytes, id, third, twoThirds)).body.receivedBytes).toBe(twoThirds);
  // Sent once more because its answer was lost: it is let pass.
  expect((await putPart(bytes, id, third, twoThirds)).body.receivedBytes).toBe(twoThirds);
  // Not yet due: the answer says where to go on.
  expect((await putPart(bytes, id, bytes.length - 10, bytes.length)).body.receivedBytes).toBe(twoThirds);
  expect((await fetch(`${stage.service.url}/api/photos/${id}`)).status).toBe(404);
  const last = await putPart(bytes, id, twoThirds, bytes.length);
  expect(last.body).toEqual({
    id,
    sha256: createHash('sha256').update(bytes).digest('hex'),
    widthPx: 400,
    heightPx: 300,
  });
  expect(await received(id)).toEqual({ receivedBytes: 0, whole: true });
  // The same as if it had come in one piece.
  expect((await put(bytes, id)).body).toEqual(last.body);
});

test('a photo begun, left for days and gone on with is forgotten whole or kept whole', async () => {
  const bytes = await noise(3);
  const [id, left] = [randomUUID(), randomUUID()];
  const [third, twoThirds] = [Math.floor(bytes.length / 3), Math.floor((bytes.length * 2) / 3)];
  await putPart(bytes, id, 0, third);
  await putPart(bytes, left, 0, third);
  // As if they had come four days ago.
  const records = new Database(path.join(stage.folder, 'records.db'));
  records.prepare('UPDATE photo_part SET received_ms = received_ms - 345600000').run();
  records.close();
  expect((await putPart(bytes, id, third, twoThirds)).body).toEqual({
    receivedBytes: twoThirds,
    whole: false,
  });
  expect(await received(id)).toEqual({ receivedBytes: twoThirds, whole: false });
  expect((await putPart(bytes, id, twoThirds, bytes.length)).body).toMatchObject({ id, widthPx: 400 });
  // The one nobody went on with is gone.
  expect(await received(left)).toEqual({ receivedBytes: 0, whole: false });
});

test('parts of two photos under one id never make one', async () => {
  const [one, other] = [await noise(3), await noise(5)];
  const id = randomUUID();
  const half = Math.floor(Math.min(one.length, other.length) / 2);
  await putPart(one, id, 0, half);
  // Another picture begins: what there was of the first is forgotten.
  expect((await putPart(other, id, 0, half)).body).toEqual({ receivedBytes: half, whole: false });
  const whole = await putPart(other, id, half, other.length);
  expect(whole.body.sha256).toBe(createHash('sha256').update(other).digest('hex'));
});

test('what came is not what its digest says: refused, and it begins anew', async () => {
  const bytes = await noise(3);
  const id = randomUUID();
  const told = digest(Buffer.from('another'));
  await putPart(bytes, id, 0, 1000, told);
  const { status, body } = await putPart(bytes, id, 1000, bytes.length, told);
  expect(status).toBe(415);
  expect(body.detail).toBe('photo: what came is not what its digest says; send it again');
  expect(await received(id)).toEqual({ receivedBytes: 0, whole: false });
});

test.each([
  ['bytes 0-9/5', 400, /the part must lie within the whole/],
  ['bytes 0-99/4000', 400, /says 100 bytes, and 10 came/],
  ['bytes=0-9/10', 400, /must be like/],
  ['bytes 0-9/60000000', 413, /at most 12 MB/],
])('Content-Range: %s is answered in a sentence', async (range, wanted, sentence) => {
  const answer = await fetch(
    `${stage.service.url}/api/instruments/${stage.instrumentId}/photos/${randomUUID()}`,
    {
      method: 'PUT',
      headers: { 'content-type': 'image/jpeg', 'content-range': range },
      body: Buffer.alloc(10),
    },
  );
  expect(answer.status).toBe(wanted);
  expect(((await answer.json()) as Problem).detail).toMatch(sentence);
});

test('of photos that are never finished only so much is kept: the oldest begins anew', async () => {
  // Ten beginnings of 9 MB; 60 MB of parts are kept at most.
  const whole = randomBytes(9_100_000);
  const ids = Array.from({ length: 10 }, () => randomUUID());
  for (const id of ids) expect((await putPart(whole, id, 0, 9_000_000)).status).toBe(200);
  const states = await Promise.all(ids.map(received));
  const kept = states.map(({ receivedBytes }) => receivedBytes > 0);
  expect(kept).toEqual([false, false, false, false, true, true, true, true, true, true]);
});
