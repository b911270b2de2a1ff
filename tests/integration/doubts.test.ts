/** Readings in doubt over HTTP: found in what arrives, counted on the list of sensors, believed, and left out again. */
import { expect, test } from 'vitest';
import type { DoubtsPage } from '../../server/contract/index.ts';
import { api } from '../support/api.ts';
import { addGateway, eventually, startService, temporaryFolder } from '../support/service.ts';

const minuteMs = 60_000;

test('a spike is counted at its sensor until somebody believes it', async () => {
  const folder = temporaryFolder();
  const { token } = addGateway(folder.path, 'attic');
  const service = await startService(folder.path);
  try {
    const client = api(service.url);
    const nowMs = Math.floor(Date.now() / minuteMs) * minuteMs;
    const spikeMs = nowMs - 60 * minuteMs;
    const records = Array.from({ length: 19 }, (_, i) => nowMs - i * 10 * minuteMs).map((timeMs) => ({
      ...{ n: 'desk', u: '%RH', t: timeMs / 1_000 },
      v: timeMs === spikeMs ? 93.5 : 45,
    }));
    const headers = { 'content-type': 'application/senml+json', authorization: `Bearer ${token}` };
    expect((await client.ask('POST', '/api/readings', records, headers)).status).toBe(200);
    const desk = async () => (await client.sensors()).sensors.find(({ urn }) => urn === 'desk');
    await eventually('it is found', async () => (await desk())?.leftOut === 1);
    const found = await desk();
    const path = `/api/sensors/${found?.id}/doubts`;
    const [fromMs, untilMs] = [spikeMs, spikeMs + 1];
    const stretch = {
      ...{ fromMs, untilMs, readings: 1, leastPct: 93.5, mostPct: 93.5, leastC: null, mostC: null },
    };
    expect(await client.get<DoubtsPage>(path)).toEqual({
      ...{ sensorId: found?.id, urn: 'desk', stretches: [{ ...stretch, believed: false }] },
    });
    const says = async (body: object) => (await client.ask('PUT', path, body)).body;
    expect(await says({ fromMs, untilMs, believed: true })).toMatchObject({
      stretches: [{ ...stretch, believed: true }],
    });
    expect((await desk())?.leftOut).toBe(0);
    // Twice says the same once.
    expect(await says({ fromMs, untilMs, believed: true })).toMatchObject({
      stretches: [{ believed: true }],
    });
    expect(await says({ fromMs, untilMs, believed: false })).toMatchObject({
      stretches: [{ believed: false }],
    });
    expect((await desk())?.leftOut).toBe(1);
    for (const [body, words] of [
      [{ fromMs, untilMs: fromMs, believed: true }, 'untilMs: must be later than fromMs'],
      [{ fromMs, untilMs }, 'believed: is missing'],
      [{ fromMs: 'then', untilMs, believed: true }, 'fromMs: '],
    ] as const) {
      const { status, body: answer } = await client.ask('PUT', path, body);
      expect([status, JSON.stringify(answer)]).toEqual([400, expect.stringContaining(words)]);
    }
  } finally {
    await service.kill('SIGTERM');
    folder.remove();
  }
}, 60_000);
