/**
 * kill -9 of the real service in the middle of a storm, again and again, on one data folder. Every acknowledged reading
 * must be there afterwards, none twice; what was not acknowledged is sent again, as a gateway would.
 */
import path from 'node:path';
import Database from 'better-sqlite3';
import { expect, test } from 'vitest';
import { openReadings } from '../../ingest/index.ts';
import { connectAs, openWire, publish } from '../integration/broker-stand.ts';
import { addGateway, startService, temporaryFolder } from '../support/service.ts';

/** More of them by SOAK_KILLS. */
const kills = Number(process.env.SOAK_KILLS ?? 20);
const inFlight = 400;
const sensors = 7;
const startMs = Date.UTC(2025, 0, 1);

const messageOf = (number: number) => ({
  sensor: `urn:dev:mac:0200000000${String(number % sensors).padStart(2, '0')}`,
  timeMs: startMs + number * 1_000,
  humidityPct: 30 + (number % 4_000) / 100,
});

/** A gateway that keeps what was not acknowledged. */
class Storm {
  readonly acknowledged = new Set<number>();
  readonly #pending = new Set<number>();
  #next = 0;

  /** Sends as fast as it is answered, until `enough`, which then ends the connection one way or another. */
  async rage(
    port: number,
    user: string,
    password: string,
    enough: (acknowledged: number) => boolean,
    sendNew: boolean,
  ) {
    const wire = await openWire(port);
    wire.send(connectAs(user, { password: Buffer.from(password) }));
    expect(await wire.next('connack')).toMatchObject({ returnCode: 0 });
    const inOrder = [...this.#pending];
    const byId = new Map<number, number>();
    let id = 0;
    const sendNext = (): boolean => {
      const again = inOrder.shift();
      if (again === undefined && !sendNew) return false;
      const number = again ?? this.#next++;
      this.#pending.add(number);
      id = (id % 65_535) + 1;
      byId.set(id, number);
      const { sensor, timeMs, humidityPct } = messageOf(number);
      const pack = [{ n: sensor, u: '%RH', v: humidityPct, t: timeMs / 1000 }];
      wire.send(publish(`readings/${user}`, pack, { messageId: id, dup: again !== undefined }));
      return true;
    };
    for (let sent = 0; sent < inFlight && sendNext(); sent += 1);
    let count = 0;
    try {
      while (byId.size > 0) {
        const { messageId = 0 } = await wire.next('puback');
        const number = byId.get(messageId);
        if (number === undefined) throw new Error(`PUBACK of ${messageId}, which was not sent`);
        byId.delete(messageId);
        this.#pending.delete(number);
        this.acknowledged.add(number);
        count += 1;
        if (enough(count)) break;
        sendNext();
      }
      // Acknowledgements on their way when the process died are acknowledgements.
      for (;;) {
        const { messageId = 0 } = await wire.next('puback');
        const number = byId.get(messageId);
        if (number === undefined) continue;
        this.#pending.delete(number);
        this.acknowledged.add(number);
      }
    } catch (error) {
      if (!(error instanceof Error && error.message.startsWith('closed'))) throw error;
    }
    wire.socket.destroy();
  }

  get sent(): number {
    return this.#next;
  }
}

test(`${kills} kills in a row lose nothing that was acknowledged and double nothing`, {
  timeout: 60_000 + kills * 10_000,
}, async () => {
  const folder = temporaryFolder();
  try {
    const { user, password } = addGateway(folder.path, 'attic');
    const storm = new Storm();
    for (let kill = 0; kill < kills; kill += 1) {
      const service = await startService(folder.path, { LOG_LEVEL: 'info' });
      // A different moment each time: between a handful and some thousand acknowledgements in.
      const moment = 5 + ((kill * 7_919) % 2_003);
      let killed: Promise<unknown> = Promise.resolve();
      await storm.rage(
        service.mqttPort,
        user,
        password,
        (count) => {
          if (count < moment) return false;
          killed = service.kill('SIGKILL');
          return true;
        },
        true,
      );
      await killed;
    }

    const readingsFile = path.join(folder.path, 'readings.db');
    const check = async (expected: (number: number) => boolean) => {
      const look = new Database(readingsFile, { readonly: true });
      expect(look.pragma('integrity_check', { simple: true })).toBe('ok');
      const organisation = String(look.prepare('select organisation from series').pluck().get());
      look.close();
      const store = openReadings(readingsFile);
      let found = 0;
      for (let sensor = 0; sensor < sensors; sensor += 1) {
        const id = { organisation, sensor: messageOf(sensor).sensor };
        const { timesMs, humidityPct } = await store.read(id, 0, 9e12);
        found += timesMs.length;
        const values = new Map(timesMs.map((timeMs, at) => [timeMs, humidityPct[at]]));
        expect(values.size).toBe(timesMs.length);
        for (let number = sensor; number < storm.sent; number += sensors) {
          const { timeMs, humidityPct: value } = messageOf(number);
          if (expected(number) && values.get(timeMs) !== Math.round(value * 100) / 100) {
            expect.fail(`message ${number} was acknowledged, and the shelf holds ${values.get(timeMs)}`);
          }
        }
        const { count } = (await store.buckets(id, 0, 9e12, 3_600_000)).humidityPct;
        expect(count.reduce((sum, hour) => sum + hour, 0)).toBe(timesMs.length);
      }
      await store.stop();
      return found;
    };

    const found = await check((number) => storm.acknowledged.has(number));
    expect(found).toBeGreaterThanOrEqual(storm.acknowledged.size);
    expect(found).toBeLessThanOrEqual(storm.sent);
    expect(storm.acknowledged.size).toBeGreaterThan(kills * 100);

    // Once more without a kill: what was left is sent again, and then everything is there exactly once.
    const service = await startService(folder.path);
    await storm.rage(
      service.mqttPort,
      user,
      password,
      () => storm.acknowledged.size === storm.sent && Boolean(service.kill('SIGTERM')),
      false,
    );
    await service.kill('SIGTERM');
    expect(storm.acknowledged.size).toBe(storm.sent);
    expect(await check(() => true)).toBe(storm.sent);
    console.log(`${kills} kills: ${storm.acknowledged.size} acknowledged, 0 lost, 0 doubled`);
  } finally {
    folder.remove();
  }
});
