/** The only place where adapters meet ports: opens the stores, starts what runs, and stops it in reverse. */
import {
  createPipeline,
  DoorFault,
  type InfluxPlace,
  memoryInFile,
  openInfluxReadings,
  openReadings,
  type Pipeline,
  startBroker,
  startHourKeeper,
  startSubscriber,
  type TimeSeries,
  watchDrops,
} from '../ingest/index.ts';
import type { Config } from './config.ts';
import { lockDataFolder, openDataFolder } from './data-folder.ts';
import { type Database, openRecords } from './db/database.ts';
import { startRenewal } from './drift/renewal.ts';
import { inThread } from './drift/thinking.ts';
import { createApp } from './http/app.ts';
import type { OutsideState } from './http/handlers.ts';
import { listen } from './http/listen.ts';
import type { Log } from './log.ts';
import { gatewaysOf } from './registry/gateways.ts';
import { hearingOf } from './registry/heard-by.ts';
import { firstOrganisation } from './registry/organisations.ts';
import { refusedOf } from './registry/refused.ts';
import { type Amendments, amended, amendmentsIn } from './series/amended.ts';
import { emailCourier } from './watch/notify/email.ts';
import { startMessenger } from './watch/notify/messenger.ts';
import { noticePublisher } from './watch/notify/mqtt.ts';
import { webhookCourier } from './watch/notify/webhook.ts';
import { refuseContradictions } from './watch/settings.ts';
import { startSifting } from './watch/sift.ts';
import { startWatch } from './watch/watch-loop.ts';

/** What arrived is looked through once in so many looks of the watch. */
const siftEvery = 5;

export interface Stores {
  readonly db: Database;
  /** Readings as they were sent: to be written to, and to be looked at as they are. */
  readonly store: TimeSeries;
  /** The same as they are to be understood: put right, without those in doubt. */
  readonly air: TimeSeries;
  readonly amendments: Amendments;
  stop(): Promise<void>;
}

/**
 * Opens both databases of a data folder. Several processes may: the service, and `manage` beside it.
 * @param readings where readings are kept instead of in the folder
 */
export async function openStores(dataDir: string, readings: InfluxPlace | null = null): Promise<Stores> {
  const folder = openDataFolder(dataDir);
  const store = readings ? await openInfluxReadings(readings) : openReadings(folder.readingsFile);
  try {
    const db = await openRecords(folder.recordsFile);
    const amendments = await amendmentsIn(db);
    return {
      db,
      store,
      air: amended(store, amendments),
      amendments,
      async stop() {
        await store.stop();
        await db.destroy();
      },
    };
  } catch (error) {
    await store.stop();
    throw error;
  }
}

export interface Service {
  readonly httpPort: number;
  readonly mqttPort: number;
  readonly mqttTlsPort: number | null;
  readonly mqttWebsocketPort: number | null;
  stop(): Promise<void>;
}

/** ingest does not know what its ports are called here. */
const portSettings = { plain: 'MQTT_PORT', tls: 'MQTT_TLS_PORT', websocket: 'MQTT_WEBSOCKET_PORT' } as const;

/** @throws Error with one sentence: folder in use or not writable, a port taken. What had started is stopped again. */
export async function startService(config: Config, log: Log, version: string): Promise<Service> {
  const started: (() => Promise<unknown> | unknown)[] = [];
  const stop = async () => {
    for (const undo of started.splice(0).reverse()) await undo();
  };
  try {
    openDataFolder(config.dataDir);
    const lock = lockDataFolder(config.dataDir);
    started.push(() => lock.release());
    const stores = await openStores(config.dataDir, config.readings);
    started.push(() => stores.stop());
    const { db, store, air, amendments } = stores;
    if (config.readings) {
      // The data folder's lock makes this the only one.
      const hours = startHourKeeper(config.readings, { log });
      started.push(() => hours.stop());
    }
    const viewer = await firstOrganisation(db, Date.now());
    await refuseContradictions(db);

    const gateways = gatewaysOf(db);
    const refused = refusedOf(db);
    const hearing = hearingOf(db, Date.now);
    const pipeline: Pipeline = createPipeline({ store, refused, log, heard: hearing.heard });
    started.push(() => pipeline.stop());
    const broker = await startBroker({ ...config.mqtt, gateways, pipeline, log }).catch((error: unknown) => {
      throw error instanceof DoorFault ? new Error(`${portSettings[error.kind]}: ${error.message}`) : error;
    });
    started.push(() => broker.stop());
    const memory = memoryInFile(openDataFolder(config.dataDir).brokersFile);
    let outside: OutsideState | null = null;
    if (config.outside) {
      const subscriber = startSubscriber(config.outside, { gateways, pipeline, log, memory });
      started.push(() => subscriber.stop());
      const drops = watchDrops(config.outside, { pipeline, memory, log });
      started.push(() => drops.stop());
      outside = { ...subscriber, dropped: drops.dropped };
    }
    const { smtp, publicUrl, webhooksToPrivate, noticesMqttUrl } = config.messages;
    const messenger = await startMessenger({
      db,
      publicUrl,
      couriers: [
        ...(smtp ? [emailCourier(smtp)] : []),
        webhookCourier(db, { allowPrivate: webhooksToPrivate }),
      ],
      publisher: noticesMqttUrl ? noticePublisher(noticesMqttUrl, log) : null,
      now: Date.now,
      log,
    });
    started.push(() => messenger.stop());
    const { afterLook } = messenger;
    const looking = startWatch({ db, store: air, now: Date.now, log, afterLook }, config.watchEveryMs);
    started.push(() => looking.stop());
    const thinking = inThread();
    started.push(() => thinking.stop());
    const forecasts = startRenewal(
      { db, store: air, thinking, now: Date.now, log, renewed: looking.lookSoon },
      config.watchEveryMs,
    );
    started.push(() => forecasts.stop());
    // What is reconsidered has changed: its forecast rests on something else now.
    const watch: typeof looking = {
      ...looking,
      async reconsider(viewer, ids, changedFromMs) {
        await looking.reconsider(viewer, ids, changedFromMs);
        forecasts.soon(viewer, ids);
      },
    };
    const siftDeps = { db, sent: store, amendments, hearing, watch, now: Date.now, log };
    const sift = startSifting(siftDeps, siftEvery * config.watchEveryMs);
    started.push(() => sift.stop());
    const app = createApp({
      db,
      store: air,
      sent: store,
      amendments,
      viewer,
      gateways,
      refused,
      publicUrl,
      workerToken: config.workerToken,
      memory,
      hearing,
      outside,
      pipeline,
      broker,
      watch,
      thinking,
      log,
      version,
      now: Date.now,
    });
    const http = await listen(app, config.http);
    started.push(() => http.stop());
    return {
      httpPort: http.port,
      mqttPort: broker.port,
      mqttTlsPort: broker.tlsPort,
      mqttWebsocketPort: broker.websocketPort,
      stop,
    };
  } catch (error) {
    await stop();
    throw error;
  }
}
