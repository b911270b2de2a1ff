/** Payloads that are not SenML, read by a gateway's profile; and the same from the command line and over HTTP. */
import { writeFileSync } from 'node:fs';
import path from 'node:path';
import { gzipSync } from 'node:zlib';
import { describe, expect, test } from 'vitest';
import { decodeMessage, isSensorName, type Profile, readProfile } from '../../ingest/index.ts';
import { eventually, manage } from '../support/service.ts';
import { gatewayStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';
import { mosquittoPub } from './broker-stand.ts';

const nowMs = Date.UTC(2026, 2, 1, 12);
const bytes = (value: unknown) =>
  new TextEncoder().encode(typeof value === 'string' ? value : JSON.stringify(value));
const decode = (profile: unknown, value: unknown, topic = 'readings/attic') =>
  decodeMessage({
    gateway: { id: 'g', organisation: 'o', name: 'attic', profile: readProfile(profile) },
    ...{ topic, payload: bytes(value), receivedMs: nowMs },
  });

describe('mapped JSON', () => {
  const nested: Profile = readProfile({
    kind: 'mapped',
    each: '/uplinks',
    sensor: '^/device/eui',
    prefix: 'urn:dev:eui:',
    time: { at: '/at', as: 'iso' },
    values: [
      { at: '/air/0', quantity: 'temperatureC', unit: 'degF', scale: 0.1 },
      { at: '/air/1', quantity: 'humidityPct', unit: 'ratio' },
      { at: '/volt~1pct', quantity: 'batteryPct' },
    ],
  });

  test('a nested batch: the device once, each entry with a time, °F in tenths, a ratio, a key with a slash', () => {
    const uplinks = [
      { at: '2026-03-01T10:00:00Z', air: [698, 0.415], 'volt/pct': 88 },
      { at: '2026-03-01T12:30:00+02:00', air: [-400, '0.5'] },
    ];
    expect(decode(nested, { device: { eui: '70B3D57ED0000001' }, uplinks })).toEqual({
      readings: [
        // 69.8 °F is 21 °C, and -40 is the same on both scales (common knowledge, no source).
        {
          organisation: 'o',
          sensor: 'urn:dev:eui:70B3D57ED0000001',
          timeMs: nowMs - 7_200_000,
          temperatureC: expect.closeTo(21, 9),
          humidityPct: 41.5,
          batteryPct: 88,
        },
        {
          organisation: 'o',
          sensor: 'urn:dev:eui:70B3D57ED0000001',
          timeMs: nowMs - 5_400_000,
          temperatureC: -40,
          humidityPct: 50,
        },
      ],
      refused: [],
      skipped: 0,
    });
  });

  test('a faulty value does not take the good one beside it; each fault names its place', () => {
    const uplinks = [
      { at: '2026-03-01T10:00:00Z', air: ['warm', 0.4] },
      { at: '2026-03-01T10:00:00Z', air: [700, 4] },
      { at: '2026-03-01 10:00', air: [700, 0.4] },
    ];
    const { readings, refused } = decode(nested, { device: { eui: '1' }, uplinks });
    expect(readings).toHaveLength(2);
    expect(refused).toEqual([
      { reason: 'no-value', sentence: 'Entry 1: at /air/0 stands “warm”, which is no number.' },
      { reason: 'out-of-range', sentence: 'Entry 2: /air/1: humidity 400 % is outside 0 to 100 %.' },
      {
        reason: 'not-mapped',
        sentence: 'Entry 3: at /at stands “2026-03-01 10:00”, which is no time (iso).',
      },
    ]);
  });

  test.each([
    [{ device: {}, uplinks: [{ at: '2026-03-01T10:00:00Z' }] }, 'Entry 1: at ^/device/eui stands nothing'],
    [{ device: { eui: { a: 1 } }, uplinks: [{}] }, "which cannot be a sensor's name"],
    // A prefix alone would make one sensor of all that have no name.
    [{ device: { eui: null }, uplinks: [{}] }, "which cannot be a sensor's name"],
    [{ device: { eui: ' ' }, uplinks: [{}] }, "which cannot be a sensor's name"],
    [{ device: { eui: '1' } }, 'At /uplinks stands nothing, which is no list of entries.'],
    [{ device: { eui: '1' }, uplinks: [] }, 'None of the values the profile points at is there'],
    ['{"device":', 'The message is not JSON in UTF-8.'],
  ])('%j is set aside with a sentence', (value, sentence) => {
    const { readings, refused } = decode(nested, value);
    expect(readings).toEqual([]);
    expect(refused[0]?.sentence).toContain(sentence);
  });

  test('nothing but a value: the topic names the sensor, and it is of now', () => {
    const profile = { kind: 'mapped', values: [{ at: '/rh', quantity: 'humidityPct' }] };
    expect(decode(profile, { rh: 44.4 }, 'readings/attic/desk').readings).toEqual([
      { organisation: 'o', sensor: 'attic/desk', timeMs: nowMs, humidityPct: 44.4 },
    ]);
  });
});

describe('names', () => {
  const profile = { kind: 'mapped', sensor: '/name', values: [{ at: '/rh', quantity: 'humidityPct' }] };
  const nameOf = (name: string) => decode(profile, { name, rh: '41,5' }).readings[0]?.sensor;
  test.each([
    ['Green Room', 'Green_Room'],
    ['K\u00fcche', 'K_FCche'],
    // The same letter in two pieces.
    ['Ku\u0308che', 'K_FCche'],
    ['Saal #2', 'Saal__232'],
    ['(spare)', 'x_28spare_29'],
    ['urn:dev:mac:0200000000a1:', 'urn:dev:mac:0200000000a1'],
    ['north-7', 'north-7'],
  ])('%j is the sensor %s', (called, name) => {
    expect(nameOf(called)).toBe(name);
    expect(isSensorName(name)).toBe(true);
  });

  test('a number written with a comma is one', () => {
    expect(decode(profile, { name: 'a', rh: '41,5' }).readings[0]?.humidityPct).toBe(41.5);
    expect(decode(profile, { name: 'a', rh: '4,1,5' }).refused[0]?.reason).toBe('no-value');
  });

  test('devices that name themselves by their topic alone stay apart, whatever it looks like', () => {
    const bare = { kind: 'mapped', values: [{ at: '/rh', quantity: 'humidityPct' }] };
    const under = (topic: string) => decode(bare, { rh: 41 }, topic).readings[0]?.sensor;
    expect(under('readings/attic/Green Room')).toBe('attic/Green_Room');
    expect(under('readings/attic/Red Room')).toBe('attic/Red_Room');
    expect(under('house/hall/state')).toBe('house/hall/state');
    expect(under('/house/hall')).toBe('house/hall');
    // Requests come by one address for all.
    for (const topic of ['readings/attic', '/api/readings', '/write?precision=s'])
      expect(under(topic)).toBe('attic');
  });
});

describe('a name and a value each', () => {
  const pairs = {
    kind: 'mapped',
    each: '/data',
    sensor: '^/id',
    values: [
      { at: '/value', where: { at: '/type', is: 'rh' }, quantity: 'humidityPct' },
      { at: '/value', where: { at: '/type', is: 'temp' }, quantity: 'temperatureC', unit: 'degF' },
    ],
  };
  const rh = { type: 'rh', value: '41.5' };
  const temp = { type: 'temp', value: 68 };
  test.each([[[rh, temp]], [[temp, { type: 'co2', value: 612 }, rh]]])('in any order: %j', (data) => {
    const { readings, refused } = decode(pairs, { id: 'a', data });
    expect(refused).toEqual([]);
    expect(Object.assign({}, ...readings)).toEqual({
      ...{ organisation: 'o', sensor: 'a', timeMs: nowMs, humidityPct: 41.5 },
      temperatureC: expect.closeTo(20, 9),
    });
  });
  test('other quantities alone are passed over; where no names stand at all it is the wrong profile', () => {
    const other = { id: 'a', data: [{ type: 'co2', value: 612 }] };
    expect(decode(pairs, other)).toEqual({ readings: [], refused: [], skipped: 1 });
    expect(decode(pairs, { id: 'a', data: [{ kind: 'rh', value: 40 }] }).refused).toMatchObject([
      { reason: 'not-mapped' },
    ]);
  });
});

describe('one plain number per topic', () => {
  const profile = {
    kind: 'plain-value',
    topic: 'house/+/{sensor}/{quantity}',
    prefix: 'room-',
    quantities: { rh: { quantity: 'humidityPct' }, f: { quantity: 'temperatureC', unit: 'degF' } },
  };
  test('the topic says sensor and quantity', () => {
    const reading = { organisation: 'o', sensor: 'room-3', timeMs: nowMs };
    expect(decode(profile, ' 41.5\n', 'house/east/3/rh').readings).toEqual([
      { ...reading, humidityPct: 41.5 },
    ]);
    expect(decode(profile, '32', 'house/east/3/f').readings).toEqual([{ ...reading, temperatureC: 0 }]);
  });
  test.each([
    ['41', 'house/3/rh', 'not-mapped'],
    ['41', 'barn/east/3/rh', 'not-mapped'],
    ['41 %', 'house/east/3/rh', 'no-value'],
    ['', 'house/east/3/rh', 'no-value'],
    ['0x29', 'house/east/3/rh', 'no-value'],
    ['NaN', 'house/east/3/rh', 'no-value'],
    ['140', 'house/east/3/rh', 'out-of-range'],
    ['41', 'house/east//rh', 'not-mapped'],
  ])('%j under %s is set aside', (payload, topic, reason) => {
    expect(decode(profile, payload, topic)).toMatchObject({ readings: [], refused: [{ reason }] });
  });
  test('a quantity the profile does not name is passed over; names of JavaScript are no quantities', () => {
    expect(decode(profile, '1013', 'house/east/3/pressure')).toEqual({
      readings: [],
      refused: [],
      skipped: 1,
    });
    expect(decode(profile, '1013', 'house/east/3/constructor')).toEqual({
      readings: [],
      refused: [],
      skipped: 1,
    });
  });
});

test.each([
  [{}, /kind: must be senml, mapped or plain-value/],
  [{ kind: 'mapped', values: [] }, /values: must name one value at least/],
  [
    { kind: 'mapped', values: [{ at: 'rh', quantity: 'humidityPct' }] },
    /values\.0\.at: must be a JSON Pointer/,
  ],
  [
    { kind: 'mapped', values: [{ at: '/rh', quantity: 'humidity' }] },
    /values\.0\.quantity: must be one of humidityPct/,
  ],
  [
    { kind: 'mapped', values: [{ at: '/rh', quantity: 'humidityPct', unit: 'Cel' }] },
    /unit: Cel is no unit of humidityPct; %RH, ratio are/,
  ],
  [
    { kind: 'mapped', values: [{ at: '/rh', quantity: 'humidityPct', scale: 0 }] },
    /values\.0\.scale: must not be 0/,
  ],
  [{ kind: 'mapped', valeus: [], values: [{ at: '/rh', quantity: 'humidityPct' }] }, /valeus/],
  [
    { kind: 'plain-value', topic: 'a/{sensor}', quantities: { a: { quantity: 'humidityPct' } } },
    /topic: must have \{sensor\} and \{quantity\} once each/,
  ],
])('the profile %j is refused by the name of its field', (profile, sentence) => {
  expect(() => readProfile(profile)).toThrow(sentence);
  expect(() => readProfile(profile)).toThrow(/^This profile cannot be used: [^\n]+\.$/);
});

describe('in the service', () => {
  const stage = standing(gatewayStage);
  // A connection of its own each: one kept open may have ended while a command ran.
  const sensors = async () =>
    (await fetch(`${stage.service.url}/api/sensors`, { headers: { connection: 'close' } })).text();
  const run = (...words: string[]) => {
    const { code, out, said } = manage(stage.folder, words);
    expect(code, said).toBe(0);
    return out;
  };

  test('an unknown shape is set aside, tried, mapped, replayed, and its past stands in its series', async () => {
    const message = path.join(stage.folder, 'message.json');
    const send = async (timeMs: number, rh: number) => {
      writeFileSync(message, JSON.stringify({ dev: 'north-7', when: timeMs / 1000, air: { rh } }));
      const who = ['-u', stage.gateway.user, '-P', stage.gateway.password];
      const { code, output } = await mosquittoPub(stage.service.mqttPort, [
        ...who,
        '-q',
        '1',
        '-t',
        'readings/attic',
        '-f',
        message,
      ]);
      expect(code, output).toBe(0);
    };
    for (let at = 0; at < 3; at += 1) await send(Date.now() - at * 600_000, 40 + at);
    await eventually('it is refused', async () => (await sensors()).includes('not-senml'));
    expect(await sensors()).not.toContain('north-7');

    const file = path.join(stage.folder, 'profile.json');
    writeFileSync(
      file,
      JSON.stringify({
        kind: 'mapped',
        sensor: '/dev',
        time: { at: '/when', as: 's' },
        values: [{ at: '/air/rh', quantity: 'humidityPct' }],
      }),
    );
    expect(run('gateway', 'try', 'attic', message, '--profile', file)).toContain('"sensor": "north-7"');
    expect(run('gateway', 'replay', 'attic')).toMatch(
      /^0 messages read: .*; 3 stay set aside\.\nThe first of those: The message is not a SenML pack/,
    );
    run('gateway', 'profile', 'attic', file);
    expect(run('gateway', 'replay', 'attic')).toBe(
      '3 messages read: 3 values stored, 0 were there already; 0 stay set aside.\n',
    );
    expect(run('gateway', 'replay', 'attic')).toMatch(/^0 messages read/);
    await eventually('the newcomer is seen', async () => (await sensors()).includes('north-7'));
    await send(Date.now(), 47.5);
    await eventually('what comes now is read too', async () => (await sensors()).includes('47.5'));
    run('gateway', 'profile', 'attic', 'senml');
  });

  test('SenML by HTTP: a batch of two hundred records in gzip is stored whole, and once; a broken gzip is refused', async () => {
    const seconds = Math.floor(Date.now() / 1000) - 6_000;
    const pack = Array.from({ length: 200 }, (_, i) => ({
      n: `batch-1:${i % 2 === 0 ? 'humidity' : 'temperature'}`,
      u: i % 2 === 0 ? '%RH' : 'degF',
      t: seconds + 60 * Math.floor(i / 2),
      v: i % 2 === 0 ? 40 : 68,
    }));
    const post = (body: Buffer) =>
      fetch(`${stage.service.url}/api/readings`, {
        method: 'POST',
        headers: {
          ...{ connection: 'close', authorization: `Bearer ${stage.gateway.token}` },
          ...{ 'content-type': 'application/senml+json', 'content-encoding': 'gzip' },
        },
        body: new Uint8Array(body),
      });
    const zipped = gzipSync(JSON.stringify(pack));
    expect(zipped.length).toBeLessThan(JSON.stringify(pack).length / 4);
    expect(await (await post(zipped)).json()).toMatchObject({ stored: 200, duplicates: 0, refused: [] });
    expect(await (await post(zipped)).json()).toMatchObject({ stored: 0, duplicates: 200, refused: [] });
    expect((await post(zipped.subarray(0, 40))).status).toBe(400);
    // 68 °F is 20 °C, converted where it comes in.
    await eventually('it is seen in °C', async () => {
      const { sensors: all } = JSON.parse(await sensors()) as {
        sensors: { urn: string; last: { temperatureC: number } | null }[];
      };
      return all.some(({ urn, last }) => urn === 'batch-1' && last?.temperatureC === 20);
    });
  });

  test('line protocol as clients of 1.x and 2.x send it, gzip included; a wrong token, a wrong precision', async () => {
    const seconds = Math.floor(Date.now() / 1000);
    const post = (address: string, body: string | Buffer, headers: Record<string, string> = {}) =>
      fetch(`${stage.service.url}${address}`, {
        method: 'POST',
        body: new Uint8Array(Buffer.from(body)),
        headers: { connection: 'close', ...headers },
      });
    const { user, password, token } = stage.gateway;
    const basic = { authorization: `Basic ${Buffer.from(`${user}:${password}`).toString('base64')}` };
    const line = (sensor: string) => `air,sensor=${sensor} humidity=43.25,temperature=20.5 ${seconds}`;
    const answers = await Promise.all([
      post('/write?db=any&precision=s', line('one-basic'), basic),
      post(`/write?db=any&precision=s&u=${user}&p=${password}`, line('one-query')),
      post('/api/v2/write?org=o&bucket=b&precision=s', line('two-token'), {
        authorization: `Token ${token}`,
      }),
      post('/api/v2/write?precision=s', gzipSync(line('two-gzip')), {
        authorization: `Token ${token}`,
        'content-encoding': 'gzip',
      }),
    ]);
    expect(answers.map(({ status }) => status)).toEqual([204, 204, 204, 204]);
    await eventually('all four', async () => {
      const text = await sensors();
      return ['one-basic', 'one-query', 'two-token', 'two-gzip'].every((name) => text.includes(name));
    });
    expect((await post('/write', line('x'))).status).toBe(401);
    expect((await post('/write', line('x'), { authorization: 'Token wrong' })).status).toBe(401);
    const week = await post('/write?precision=w', line('x'), basic);
    expect([week.status, await week.text()]).toEqual([400, expect.stringContaining('precision: must be')]);
  });

  test('line protocol of other names is set aside, and can be mapped and replayed with its precision', async () => {
    const timeMs = Date.now() - 60_000;
    const answer = await fetch(`${stage.service.url}/write?precision=ms`, {
      method: 'POST',
      headers: { connection: 'close', authorization: `Token ${stage.gateway.token}` },
      body: `climate,host=cellar-2 feuchte=51.5 ${timeMs}`,
    });
    expect(answer.status).toBe(204);
    const file = path.join(stage.folder, 'lines.json');
    writeFileSync(
      file,
      JSON.stringify({
        kind: 'mapped',
        sensor: '/tags/host',
        time: { at: '/timeMs', as: 'ms' },
        values: [{ at: '/fields/feuchte', quantity: 'humidityPct' }],
      }),
    );
    run('gateway', 'profile', 'attic', file);
    expect(run('gateway', 'replay', 'attic')).toMatch(/^1 messages read: 1 values stored/);
    await eventually('it is seen', async () => {
      const text = await sensors();
      return text.includes('cellar-2') && text.includes(String(timeMs)) && text.includes('51.5');
    });
  });
});
