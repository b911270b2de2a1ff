/**
 * The real service takes 2,000 messages a second, one of each of 2,000 sensors, with the watch at work: does its memory
 * stay flat? Ten minutes in full, after three in which caches of a fixed size fill; `npm test` runs a short piece and
 * looks at the ceiling only.
 */
import { readFileSync } from 'node:fs';
import path from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import mqttPacket from 'mqtt-packet';
import { afterEach, expect, test } from 'vitest';
import { openReadings } from '../../ingest/index.ts';
import { connectAs, openWire, publish } from '../integration/broker-stand.ts';
import { addGateway, startService, temporaryFolder } from '../support/service.ts';

const full = Boolean(process.env.CROWNWATCH_FULL);
const seconds = Number(process.env.SOAK_SECONDS ?? (full ? 780 : 20));
const warmUp = full ? 180 : 5;
const sensors = 2_000;
const connections = 10;
const perConnection = sensors / connections;
/** Of one process, whatever it does; the design's own figure. */
const ceilingMB = 300;

const undo: (() => unknown)[] = [];
afterEach(async () => {
  for (const one of undo.splice(0).reverse()) await one();
});

const residentMB = (pid: number): number => {
  const [, kB = ''] = /^VmRSS:\s+(\d+) kB$/m.exec(readFileSync(`/proc/${pid}/status`, 'utf8')) ?? [];
  return Number(kB) / 1_000;
};
/** What JavaScript holds, as the service says itself; the least of a minute is what the collector could not free. */
async function heapMB(url: string): Promise<number> {
  const text = await (await fetch(`${url}/metrics`, { headers: { connection: 'close' } })).text();
  return Number(/^nodejs_heap_size_used_bytes (\S+)$/m.exec(text)?.[1]) / 1e6;
}
const mean = (values: readonly number[]): number => values.reduce((sum, one) => sum + one, 0) / values.length;

test(`memory over ${seconds} s at ${sensors} messages a second`, {
  timeout: (seconds + 300) * 1_000,
}, async () => {
  const folder = temporaryFolder();
  undo.push(folder.remove);
  const { user, password } = addGateway(folder.path, 'attic');
  const service = await startService(folder.path, { LOG_LEVEL: 'info', WATCH_SECONDS: '5' });
  undo.push(() => service.kill('SIGKILL'));
  const pid = service.process.pid ?? 0;
  const wires = await Promise.all(
    Array.from({ length: connections }, async (_, number) => {
      const wire = await openWire(service.mqttPort);
      wire.send(connectAs(user, { password: Buffer.from(password), clientId: `c${number}` }));
      expect(await wire.next('connack')).toMatchObject({ returnCode: 0 });
      wire.received.length = 0;
      return wire;
    }),
  );
  let acknowledged = 0;
  for (const { socket } of wires) {
    socket.removeAllListeners('data');
    const parser = mqttPacket.parser();
    parser.on('packet', ({ cmd }) => {
      if (cmd === 'puback') acknowledged += 1;
    });
    socket.on('data', (bytes: Buffer) => parser.parse(bytes));
  }

  const samples: number[] = [];
  const heaps: number[] = [];
  const startMs = Date.now();
  let sent = 0;
  let behindMs = 0;
  for (let second = 0; second < seconds; second += 1) {
    const dueMs = startMs + second * 1_000;
    await pause(Math.max(0, dueMs - Date.now()));
    behindMs = Math.max(behindMs, Date.now() - dueMs);
    for (let tenth = 0; tenth < 10; tenth += 1) {
      for (const [number, wire] of wires.entries()) {
        for (let at = tenth * 20; at < (tenth + 1) * 20; at += 1) {
          const n = `urn:dev:mac:02000000${String(number * perConnection + at).padStart(4, '0')}`;
          const pack = [
            { n, u: '%RH', v: (4_000 + ((second * 7 + at) % 1_000)) / 100, t: Math.floor(dueMs / 1_000) },
          ];
          wire.send(
            publish(`readings/${user}`, pack, { messageId: 1 + ((second * perConnection + at) % 65_000) }),
          );
          sent += 1;
        }
      }
      await pause(Math.max(0, dueMs + (tenth + 1) * 100 - Date.now()));
    }
    samples.push(residentMB(pid));
    heaps.push(second % 5 === 0 ? await heapMB(service.url) : Number.POSITIVE_INFINITY);
  }
  const end = Date.now() + 120_000;
  while (acknowledged < sent && Date.now() < end) await pause(50);
  expect(acknowledged).toBe(sent);
  const rate = sent / ((Date.now() - startMs) / 1_000);
  for (const { socket } of wires) socket.destroy();
  expect(await service.kill('SIGTERM')).toBe(0);

  const store = openReadings(path.join(folder.path, 'readings.db'));
  let stored = 0;
  for (const { id } of (await store.changedSince(null)).series) {
    stored += (await store.read(id, 0, 9e12)).timesMs.length;
  }
  await store.stop();

  const minutes = Array.from({ length: Math.ceil((seconds - warmUp) / 60) }, (_, minute) =>
    mean(samples.slice(warmUp + minute * 60, warmUp + (minute + 1) * 60)),
  );
  const floors = minutes.map((_, minute) =>
    Math.min(...heaps.slice(warmUp + minute * 60, warmUp + (minute + 1) * 60)),
  );
  const whole = mean(samples.slice(warmUp));
  const off = Math.max(...minutes.map((one) => Math.abs(one / whole - 1)));
  console.log(
    `memory: ${sent} sent, ${acknowledged} acknowledged, ${stored} stored in ${seconds} s (${Math.round(rate)}/s, the sender at most ${behindMs} ms late); resident, by minute after ${warmUp} s: ${minutes.map((one) => one.toFixed(0)).join(', ')} MB; heap at its least: ${floors.map((one) => one.toFixed(0)).join(', ')} MB; mean ${whole.toFixed(0)} MB, a minute at most ${(off * 100).toFixed(1)} % off, peak ${Math.max(...samples).toFixed(0)} MB`,
  );
  expect(stored).toBe(sent);
  if (full) expect(off).toBeLessThanOrEqual(0.1);
  else expect(Math.max(...samples)).toBeLessThan(ceilingMB);
});
