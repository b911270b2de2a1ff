/**
 * A broker elsewhere is killed in the middle of a storm. Two promises are looked at apart: what *we* acknowledged to it
 * is on the shelf; and what *it* acknowledged to a gateway, which rests on its own snapshots (mosquitto writes them now
 * and then, not before it acknowledges), so that a kill may cost what came since the last one.
 */
import { stat } from 'node:fs/promises';
import path from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { afterEach, expect, test } from 'vitest';
import { openReadings } from '../../ingest/index.ts';
import { hasMosquitto, startMosquitto } from '../support/mosquitto.ts';
import { addGateway, eventually, startService, temporaryFolder } from '../support/service.ts';
import { startWiretap } from '../support/wiretap.ts';
import { countShelf, tellFault } from './shelf.ts';
import { Storm, steadily } from './storm.ts';

const kills = process.env.CROWNWATCH_FULL ? 20 : 3;
const perKill = 2_000;
const messages = perKill * (kills + 1);

const undo: (() => unknown)[] = [];
afterEach(async () => {
  for (const one of undo.splice(0).reverse()) await one();
});

const numberOf = (payload: string | Buffer): number => {
  const [record]: { t?: number }[] = JSON.parse(payload.toString());
  return (record?.t ?? 0) - steadily(0).timeMs / 1_000;
};

test.skipIf(!hasMosquitto())(
  `a broker with persistence killed ${kills} times during ${messages} messages`,
  { timeout: 900_000 },
  async () => {
    const broker = await startMosquitto([
      ...['allow_anonymous true', 'persistence true', 'persistence_location {folder}/'],
      // How often it says how long it runs; as delivered every ten seconds.
      ...['autosave_interval 1', 'sys_interval 2'],
    ]);
    undo.push(broker.stop);
    const tap = await startWiretap(broker.port, 5);
    undo.push(tap.stop);
    const folder = temporaryFolder();
    undo.push(folder.remove);
    const { user, password } = addGateway(folder.path, 'attic');
    const service = await startService(folder.path, { BROKER_URL: `mqtt://127.0.0.1:${tap.port}` });
    undo.push(() => service.kill('SIGTERM'));
    await eventually('the subscription', async () =>
      tap.connections.some(
        (seen) =>
          seen.some(
            ({ packet }) => packet.cmd === 'subscribe' && packet.subscriptions[0]?.topic === 'readings/#',
          ) && seen.some(({ packet }) => packet.cmd === 'suback'),
      ),
    );

    const storm = new Storm(steadily, messages);
    const place = { port: broker.port, user, password };
    const connects = () => service.log.filter(({ msg }) => msg === 'connected to the broker').length;
    /** The broker knows our session also after a kill once a snapshot holds it. */
    const snapshot = async () => {
      const sinceMs = Date.now();
      await eventually('a snapshot', async () => {
        const written = await stat(path.join(broker.folder, 'mosquitto.db')).catch(() => null);
        return (written?.mtimeMs ?? 0) > sinceMs;
      });
    };
    for (let kill = 1; kill <= kills; kill += 1) {
      await snapshot();
      const raging = storm.untilAll(() => place, perKill * kill);
      const halfway = perKill * (kill - 0.5);
      await eventually('under way', async () => storm.acknowledged.size >= halfway, 120_000);
      await broker.restart('SIGKILL');
      await raging;
      await eventually('the collector is back', async () => connects() > kill, 60_000);
    }
    await storm.untilAll(() => place);

    /** What our PUBACKs on the line were for. */
    const ours = new Set<number>();
    const file = path.join(folder.path, 'readings.db');
    const look = async (acknowledged: Set<number>) => {
      const store = openReadings(file);
      const counts = await countShelf(store, { sent: storm.sent, sampleOf: steadily, acknowledged });
      await store.stop();
      return counts;
    };
    // The last of it is delivered when what is stored no longer grows.
    let before = '';
    await eventually(
      'all that will come',
      async () => {
        await pause(500);
        const text = await (await fetch(`${service.url}/metrics`)).text();
        const [, stored = ''] = /crownwatch_values\{outcome="stored"\} (\d+)/.exec(text) ?? [];
        const settled = Number(stored) === messages || stored === before;
        before = stored;
        return settled;
      },
      120_000,
    );
    const told = () => service.log.filter(({ reason }) => reason === 'possible-gap').length;
    // Two of its uptimes are what a start is judged by.
    await eventually('that it was started again is told', async () => told() > 0, 90_000);
    await service.kill('SIGTERM');
    for (const seen of tap.connections) {
      const byId = new Map<number, number>();
      for (const { from, packet } of seen) {
        if (packet.cmd === 'publish' && from === 'broker' && packet.topic === 'readings/attic') {
          byId.set(packet.messageId ?? 0, numberOf(packet.payload));
        } else if (packet.cmd === 'puback' && from === 'client') {
          const number = byId.get(packet.messageId ?? 0);
          expect(number, 'a PUBACK answers a PUBLISH of its own connection').toBeDefined();
          if (number !== undefined) ours.add(number);
        }
      }
    }
    const byBroker = await look(storm.acknowledged);
    tellFault(
      `kill -9 of an outside broker, ${kills} times`,
      await look(ours),
      `${storm.acknowledged.size} acknowledged by the broker, of these ${byBroker.lost} lost in it; ${told()} gaps told`,
    );
  },
);
