/**
 * A stage for stories on a timeline: the real stores and the real watch under a clock that only the story moves.
 * Readings come every ten minutes from functions of the time; the watch ticks as often as the story says.
 */
import { randomUUID } from 'node:crypto';
import type { Reading } from '../../ingest/index.ts';
import type { InstrumentBody, Notice, VisitBody } from '../../server/contract/index.ts';
import { putInstrument } from '../../server/registry/instruments.ts';
import { firstOrganisation } from '../../server/registry/organisations.ts';
import { noteSensor, putPlacement } from '../../server/registry/sensors.ts';
import { putRoom, putVenue } from '../../server/registry/venues.ts';
import type { Viewer } from '../../server/registry/viewer.ts';
import { openStores, type Stores } from '../../server/services.ts';
import { putVisit } from '../../server/visits/visits.ts';
import { notices } from '../../server/watch/notices.ts';
import { startWatch, type Watch, type WatchDeps } from '../../server/watch/watch-loop.ts';
import { instrumentBody, roomBody } from './api.ts';
import { seededIds } from './ids.ts';
import { temporaryFolder } from './service.ts';

export const minuteMs = 60_000;
export const hourMs = 3_600_000;
export const dayMs = 24 * hourMs;

export interface AirNow {
  readonly humidityPct: number;
  readonly temperatureC: number;
}
/** null: the sensor says nothing at that time. */
export type AirCourse = (timeMs: number) => AirNow | null;

export interface Piano {
  readonly id: string;
  readonly roomId: string;
  readonly venueId: string;
  readonly urn: string;
  air: AirCourse;
}

export interface Stage {
  readonly stores: Stores;
  readonly viewer: Viewer;
  readonly folder: string;
  nowMs: number;
  watch: Watch;
  readonly pianos: Piano[];
  venue(name?: string, timeZone?: string): Promise<string>;
  /** A room with one piano and one sensor in its air. */
  piano(
    venueId: string,
    name: string,
    air: AirCourse,
    changes?: Partial<InstrumentBody>,
    inside?: boolean,
  ): Promise<Piano>;
  /** Stores what every sensor measured in [fromMs, toMs). */
  measure(fromMs: number, toMs: number, only?: readonly Piano[]): Promise<void>;
  /** The past, stored at once, and the watch's first look at it. */
  past(days: number): Promise<void>;
  /** Lets time pass: measures, and ticks once so often. */
  pass(ms: number, everyMs?: number): Promise<void>;
  visit(body: VisitBody): Promise<void>;
  notices(): Promise<Notice[]>;
  openNotices(): Promise<Notice[]>;
  /** Stops the watch without a word, as a crash would between two ticks, and starts another on the same stores. */
  restart(): Promise<void>;
  stop(): Promise<void>;
}

export async function openStage(
  startMs: number,
  extra: (stage: { readonly stores: Stores; now(): number }) => Partial<WatchDeps> = () => ({}),
): Promise<Stage> {
  const folder = temporaryFolder();
  const stores = await openStores(folder.path);
  const viewer = await firstOrganisation(stores.db, startMs);
  const log = {
    info() {},
    error(fields: object, message: string) {
      throw new Error(message, { cause: 'err' in fields ? fields.err : fields });
    },
  };
  // The watch's own timer never fires in a story: only the story ticks.
  const never = 2 ** 31 - 1;
  const begin = (): Watch =>
    startWatch(
      {
        db: stores.db,
        store: stores.store,
        now: () => stage.nowMs,
        log,
        ...extra({ stores, now: () => stage.nowMs }),
      },
      never,
    );
  const stepMs = 10 * minuteMs;
  const nextId = seededIds(1);

  const stage: Stage = {
    stores,
    viewer,
    folder: folder.path,
    nowMs: startMs,
    pianos: [],
    watch: undefined as unknown as Watch,
    async venue(name = 'Larkmoor School of Music', timeZone = 'Europe/Vienna') {
      const id = nextId();
      await putVenue(stores.db, viewer, { id, name, timeZone });
      return id;
    },
    async piano(venueId, name, air, changes = {}, inside = false) {
      const { db } = stores;
      const [roomId, id] = [nextId(), nextId()];
      const urn = `urn:dev:mac:02000000${(0x1000 + stage.pianos.length).toString(16)}`;
      await putRoom(db, viewer, { ...roomBody, id: roomId, venueId, name });
      await putInstrument(db, viewer, { ...instrumentBody, ...changes, id, roomId });
      const none = { humidityPct: null, temperatureC: null, batteryPct: null, intervalMs: null };
      const firstMs = startMs - 800 * dayMs;
      const sensor = await noteSensor(db, viewer, { urn, firstMs, lastMs: firstMs, ...none });
      await putPlacement(db, viewer, {
        id: randomUUID(),
        sensorId: sensor.id,
        spot: inside ? 'inside' : 'room',
        roomId: inside ? null : roomId,
        instrumentId: inside ? id : null,
        venueId: null,
        fromMs: firstMs,
        untilMs: null,
      });
      const piano = { id, roomId, venueId, urn, air };
      stage.pianos.push(piano);
      return piano;
    },
    async measure(fromMs, toMs, only = stage.pianos) {
      // One append for all: a durable commit a sensor would be most of the story's time.
      const readings: Reading[] = [];
      for (const piano of only) {
        for (let timeMs = Math.ceil(fromMs / stepMs) * stepMs; timeMs < toMs; timeMs += stepMs) {
          const air = piano.air(timeMs);
          if (air) readings.push({ organisation: viewer.organisationId, sensor: piano.urn, timeMs, ...air });
        }
      }
      for (let i = 0; i < readings.length; i += 5000) await stores.store.append(readings.slice(i, i + 5000));
    },
    async past(days) {
      await stage.measure(stage.nowMs - days * dayMs, stage.nowMs);
      await stage.watch.tick();
    },
    async pass(ms, everyMs = hourMs) {
      const endMs = stage.nowMs + ms;
      while (stage.nowMs < endMs) {
        const nextMs = Math.min(endMs, stage.nowMs + everyMs);
        await stage.measure(stage.nowMs, nextMs);
        stage.nowMs = nextMs;
        await stage.watch.tick();
      }
    },
    async visit(body) {
      await putVisit(stores.db, viewer, randomUUID(), body, stage.nowMs);
      await stage.watch.reconsider(viewer, [body.instrumentId], null);
    },
    notices: () => notices(stores.db, viewer, { over: true }),
    openNotices: () => notices(stores.db, viewer, { over: false }),
    async restart() {
      await stage.watch.stop();
      stage.watch = begin();
    },
    async stop() {
      await stage.watch.stop();
      await stores.stop();
      folder.remove();
    },
  };
  stage.watch = begin();
  return stage;
}

/** Steady air with a small daily breath, so that no sensor looks stuck. */
export const steady =
  (humidityPct: number, temperatureC = 20.5): AirCourse =>
  (timeMs) => ({
    humidityPct: humidityPct + 0.8 * Math.sin((2 * Math.PI * timeMs) / dayMs),
    temperatureC: temperatureC + 0.4 * Math.sin((2 * Math.PI * timeMs) / dayMs),
  });

/** Moves in a straight line from one value to another between two times. */
export const ramp =
  (from: number, to: number, fromMs: number, toMs: number, temperatureC = 20.5): AirCourse =>
  (timeMs) => {
    const share = Math.min(1, Math.max(0, (timeMs - fromMs) / (toMs - fromMs)));
    const now = steady(from + (to - from) * share, temperatureC);
    return now(timeMs);
  };
