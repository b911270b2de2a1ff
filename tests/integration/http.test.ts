/** What the HTTP interface takes, gives and refuses; every refusal is a sentence that names the field. */
import { randomUUID } from 'node:crypto';
import { request } from 'node:http';
import { validate } from '@readme/openapi-parser';
import { describe, expect, test } from 'vitest';
import { fileRoutes, type Problem, problem, routes } from '../../server/contract/index.ts';
import { instrumentBody, nothingMeasured, roomBody, tuning } from '../support/api.ts';
import { eventually } from '../support/service.ts';
import { gatewayStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';

const stage = standing(gatewayStage);

const send = (body: string | object, token = stage.gateway.token) => stage.client.sendPack(token, body);

/** A request as no browser or fetch would send it. */
function raw(path: string, headers: Record<string, string>, method = 'GET'): Promise<number> {
  return new Promise((resolve, reject) => {
    const { hostname, port } = new URL(stage.service.url);
    const asked = request({ hostname, port, path, method, headers }, (answer) => {
      answer.resume();
      resolve(answer.statusCode ?? 0);
    });
    asked.on('error', reject);
    asked.end();
  });
}

const refusedIn = (metrics: unknown, reason: string): number =>
  Number(new RegExp(`crownwatch_refused\\{reason="${reason}"\\} (\\d+)`).exec(String(metrics))?.[1] ?? 0);

describe('readings over HTTP', () => {
  test('a good pack is stored; the same again is a duplicate; another value a conflict', async () => {
    const record = {
      n: 'urn:dev:mac:0200000000bb01:humidity',
      u: '%RH',
      v: 44,
      t: Math.floor(Date.now() / 1000) - 60,
    };
    expect(await send([record])).toMatchObject({
      status: 200,
      body: { stored: 1, duplicates: 0, conflicts: 0 },
    });
    expect(await send([record])).toMatchObject({
      status: 200,
      body: { stored: 0, duplicates: 1, conflicts: 0 },
    });
    expect(await send([{ ...record, v: 45 }])).toMatchObject({
      status: 200,
      body: { stored: 0, conflicts: 1 },
    });
  });

  const now = () => Math.floor(Date.now() / 1000);
  const name = 'urn:dev:mac:0200000000bb02:humidity';
  test.each<[string, string, () => string]>([
    ['malformed JSON', 'not-json', () => '[{"n":'],
    ['a pack with a wrong unit', 'unknown-unit', () => JSON.stringify([{ n: name, u: 'm', v: 40 }])],
    ['humidity 140', 'out-of-range', () => JSON.stringify([{ n: name, u: '%RH', v: 140 }])],
    ['NaN', 'not-json', () => `[{"n":"${name}","u":"%RH","v":NaN}]`],
    ['a number beyond all numbers', 'out-of-range', () => `[{"n":"${name}","u":"%RH","v":1e999}]`],
    ['a time in 1978', 'time-too-old', () => JSON.stringify([{ n: name, u: '%RH', v: 40, t: 268435456 }])],
    ['tomorrow', 'time-ahead', () => JSON.stringify([{ n: name, u: '%RH', v: 40, t: now() + 86_400 }])],
  ])('%s is refused as %s, counted, and seen on the sensors page', async (_what, reason, body) => {
    const before = refusedIn((await stage.client.ask('GET', '/metrics')).body, reason);
    const answer = await send(body());
    expect(answer.status).toBe(400);
    const said = problem.parse(answer.body);
    expect(said.detail.length).toBeGreaterThan(10);
    expect(refusedIn((await stage.client.ask('GET', '/metrics')).body, reason)).toBe(before + 1);
    const { refused } = await stage.client.sensors();
    expect(refused.map((one) => one.reason)).toContain(reason);
  });

  test('the good readings of a pack are not lost with the bad ones', async () => {
    const t = now() - 30;
    const answer = await send([
      { n: 'urn:dev:mac:0200000000bb03:humidity', u: '%RH', v: 140, t },
      { n: 'urn:dev:mac:0200000000bb03:temperature', u: 'Cel', v: 19.5, t },
    ]);
    expect(answer).toMatchObject({ status: 200, body: { stored: 1, refused: [{ reason: 'out-of-range' }] } });
    const sensor = await eventually('it is seen', async () =>
      (await stage.client.sensors()).sensors.find((one) => one.urn === 'urn:dev:mac:0200000000bb03'),
    );
    expect(sensor.last).toMatchObject({ temperatureC: 19.5, humidityPct: null });
  });

  test('5 MB are refused', async () => {
    expect(
      (await send(JSON.stringify([{ n: name, u: '%RH', v: 40, pad: 'x'.repeat(5_000_000) }]))).status,
    ).toBe(413);
  });

  test('a wrong or missing token', async () => {
    expect((await send([{ n: name, u: '%RH', v: 40 }], 'wrong')).status).toBe(401);
    expect((await stage.client.ask('POST', '/api/readings', [])).status).toBe(401);
  });
});

describe('records', () => {
  test('what is wrong is said at the field', async () => {
    const { roomId, venueId } = await stage.client.house();
    const said = async (path: string, body: unknown): Promise<Problem> => {
      const answer = await stage.client.ask('PUT', path, body);
      expect(answer.status).toBeGreaterThanOrEqual(400);
      expect(answer.status).toBeLessThan(500);
      return problem.parse(answer.body);
    };
    const fields = (one: Problem) => one.faults?.map((fault) => fault.field);
    const board = { ...instrumentBody.board, thicknessMm: 80 };
    const wrong = await said(`/api/instruments/${randomUUID()}`, {
      ...instrumentBody,
      roomId,
      board,
      name: '',
      use: 'bar',
    });
    expect(fields(wrong)).toEqual(expect.arrayContaining(['board.thicknessMm', 'name', 'use']));
    expect(wrong.detail).toContain('board.thicknessMm: must be at most 15');
    expect(
      fields(await said(`/api/instruments/${randomUUID()}`, { ...instrumentBody, roomId: randomUUID() })),
    ).toEqual(['roomId']);
    expect(fields(await said(`/api/instruments/not-a-uuid`, { ...instrumentBody, roomId }))).toEqual(['id']);
    expect(
      fields(await said(`/api/rooms/${randomUUID()}`, { ...roomBody, venueId, wishedLowPct: 60 })),
    ).toEqual(['wishedHighPct']);
    expect(
      fields(await said(`/api/venues/${randomUUID()}`, { name: 'X', timeZone: 'Middle/Earth' })),
    ).toEqual(['timeZone']);
    expect((await said(`/api/venues/${randomUUID()}`, '{"name":')).detail).toContain('JSON');
  });

  test('a visit: twice the same is harmless, another body under its id is a 409', async () => {
    const { instrumentId } = await stage.client.house();
    const path = `/api/visits/${randomUUID()}`;
    const visit = tuning(instrumentId, Date.now() - 1000);
    await stage.client.put(path, visit);
    await stage.client.put(path, visit);
    expect(await stage.client.ask('PUT', path, { ...visit, note: 'changed' })).toMatchObject({ status: 409 });
    expect((await stage.client.instrument(instrumentId)).visits).toHaveLength(1);
  });

  test.each<[string, string, (instrumentId: string) => object]>([
    [
      'a pitch of 44 Hz at A4 is taken as Hz and refused as unlikely',
      'asLeft.a4',
      (id) => tuning(id, Date.now(), { asLeft: { ...nothingMeasured, a4: { unit: 'Hz', value: 44 } } }),
    ],
    ['a visit in the future', 'atMs', (id) => tuning(id, Date.now() + 3_600_000)],
    ['a visit to no instrument', 'instrumentId', () => tuning(randomUUID(), Date.now())],
    [
      'cents beyond belief',
      'asFound.tenor.value',
      (id) =>
        tuning(id, Date.now(), { asFound: { ...nothingMeasured, tenor: { unit: 'cents', value: 900 } } }),
    ],
  ])('%s', async (_what, field, body) => {
    const { instrumentId } = await stage.client.house();
    const answer = await stage.client.ask('PUT', `/api/visits/${randomUUID()}`, body(instrumentId));
    expect(answer.status).toBeGreaterThanOrEqual(400);
    expect(answer.status).toBeLessThan(500);
    expect(problem.parse(answer.body).faults?.map((fault) => fault.field)).toContain(field);
  });

  test('a sensor stands in one place at a time', async () => {
    const { roomId, instrumentId } = await stage.client.house();
    await send([{ n: 'urn:dev:mac:0200000000bb09:humidity', u: '%RH', v: 41 }]);
    const sensor = await eventually('it is seen', async () =>
      (await stage.client.sensors()).sensors.find((one) => one.urn === 'urn:dev:mac:0200000000bb09'),
    );
    const place = (changes: object) => ({
      ...{
        sensorId: sensor.id,
        spot: 'room',
        roomId,
        instrumentId: null,
        venueId: null,
        fromMs: 1_700_000_000_000,
        untilMs: null,
      },
      ...changes,
    });
    const inside = { spot: 'inside', roomId: null, instrumentId };
    await stage.client.put(`/api/placements/${randomUUID()}`, place({}));
    await stage.client.put(
      `/api/placements/${randomUUID()}`,
      place({ ...inside, fromMs: 1_710_000_000_000 }),
    );
    const moved = (await stage.client.sensors()).sensors.find((one) => one.id === sensor.id);
    expect(moved?.placement).toMatchObject({ spot: 'inside', instrumentId });
    expect(moved?.placedAt).toContain('inside Grand 185 cm');
    const overlapping = await stage.client.ask(
      'PUT',
      `/api/placements/${randomUUID()}`,
      place({ fromMs: 1_690_000_000_000 }),
    );
    expect(overlapping.status).toBe(409);
    const twoSpots = await stage.client.ask(
      'PUT',
      `/api/placements/${randomUUID()}`,
      place({ instrumentId }),
    );
    expect(problem.parse(twoSpots.body).faults?.map((fault) => fault.field)).toEqual(['instrumentId']);
    const unknown = await stage.client.ask(
      'PUT',
      `/api/placements/${randomUUID()}`,
      place({ sensorId: randomUUID() }),
    );
    expect(unknown.status).toBe(404);
  });
});

describe('the interface', () => {
  test('its OpenAPI document is valid and has every route', async () => {
    const document = await stage.client.get<Parameters<typeof validate>[0] & { paths: object }>(
      '/api/openapi.json',
    );
    expect(Object.keys(document.paths).toSorted()).toEqual(
      [
        ...new Set([...Object.values(routes), ...Object.values(fileRoutes)].map((route) => route.path)),
      ].toSorted(),
    );
    const result = await validate(structuredClone(document));
    expect(result.valid, JSON.stringify(result)).toBe(true);
  });

  test('health, metrics, unknown paths', async () => {
    expect(await stage.client.get('/health')).toMatchObject({
      status: 'ok',
      broker: { port: stage.service.mqttPort },
    });
    expect(await stage.client.ask('GET', '/api/nothing')).toMatchObject({ status: 404 });
    expect(await stage.client.ask('DELETE', '/api/venues')).toMatchObject({ status: 404 });
    expect(String((await stage.client.ask('GET', '/metrics')).body)).toContain('crownwatch_values');
  });

  test('pages of others and foreign names for this machine are refused', async () => {
    const { host } = new URL(stage.service.url);
    expect(await raw('/api/instruments', { host })).toBe(200);
    expect(await raw('/api/instruments', { host: 'rebound.example' })).toBe(403);
    expect(await raw('/api/instruments', { host, origin: 'http://evil.example' })).toBe(403);
    expect(await raw('/api/instruments', { host, 'sec-fetch-site': 'cross-site' })).toBe(403);
    expect(await raw('/api/instruments', { host, origin: `http://${host}` })).toBe(200);
  });

  test('it listens on loopback only', async () => {
    const { networkInterfaces } = await import('node:os');
    const outside = Object.values(networkInterfaces())
      .flat()
      .find((one) => one && !one.internal && one.family === 'IPv4');
    if (!outside) return;
    await expect(
      fetch(`http://${outside.address}:${new URL(stage.service.url).port}/health`),
    ).rejects.toThrow();
  });

  test('neither tokens nor passwords are in the log', () => {
    const text = JSON.stringify(stage.service.log);
    expect(text).not.toContain(stage.gateway.token);
    expect(text).not.toContain(stage.gateway.password);
  });
});
