/** Writes readings and their hourly roll-ups, inside a transaction that the caller has begun. */
import type { Database } from 'better-sqlite3';
import { type Reading, toHundredths } from '../reading.ts';
import type { Appended } from './time-series.ts';

export const hourMs = 3_600_000;
/** Hours a key can tell apart; every time that can be stored is among them. */
const hoursPerSeries = 2 ** 22;

type Kept = number | null;
type Counts = { -readonly [key in keyof Appended]: number };

interface HourDelta {
  readonly series: number;
  readonly hour: number;
  hCount: number;
  hSum: number;
  hMin: Kept;
  hMax: Kept;
  tCount: number;
  tSum: number;
  tMin: Kept;
  tMax: Kept;
}

interface Row {
  readonly humidity: Kept;
  readonly temperature: Kept;
  readonly battery: Kept;
}

/** A series is known to the whole process only after the transaction that named it was committed. */
export interface Writer {
  /** Adds its counts to `counts`. */
  write(readings: readonly Reading[], counts: Counts): void;
  /** Writes the roll-ups of everything written since the last `finish`. */
  finish(): void;
  committed(): void;
  rolledBack(): void;
}

export function prepareWriter(db: Database): Writer {
  const findSeries = db
    .prepare<[string, string], number>('select id from series where organisation = ? and sensor = ?')
    .pluck();
  const addSeries = db.prepare('insert into series (organisation, sensor) values (?, ?)');
  const insert = db.prepare('insert into reading values (?, ?, ?, ?, ?) on conflict do nothing');
  const find = db.prepare<[number, number], Row>(
    'select humidity, temperature, battery from reading where series = ? and time = ?',
  );
  const fill = db.prepare(
    'update reading set humidity = ?, temperature = ?, battery = ? where series = ? and time = ?',
  );
  const nextSeq = db.prepare<[], number>('select coalesce(max(seq), 0) + 1 from hourly').pluck();
  const addHour = db.prepare(`
    insert into hourly values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
    on conflict do update set
      seq = excluded.seq,
      h_count = h_count + excluded.h_count,
      h_sum = h_sum + excluded.h_sum,
      h_min = min(coalesce(h_min, excluded.h_min), coalesce(excluded.h_min, h_min)),
      h_max = max(coalesce(h_max, excluded.h_max), coalesce(excluded.h_max, h_max)),
      t_count = t_count + excluded.t_count,
      t_sum = t_sum + excluded.t_sum,
      t_min = min(coalesce(t_min, excluded.t_min), coalesce(excluded.t_min, t_min)),
      t_max = max(coalesce(t_max, excluded.t_max), coalesce(excluded.t_max, t_max))`);

  const known = new Map<string, Map<string, number>>();
  let named: Reading[] = [];
  let deltas = new Map<number, HourDelta>();
  let lastSensor: Reading | undefined;
  let lastSeries = 0;
  let lastKey = -1;
  let lastDelta: HourDelta | undefined;

  function seriesOf(reading: Reading): number {
    if (
      lastSensor &&
      lastSensor.sensor === reading.sensor &&
      lastSensor.organisation === reading.organisation
    ) {
      return lastSeries;
    }
    let sensors = known.get(reading.organisation);
    if (!sensors) {
      sensors = new Map();
      known.set(reading.organisation, sensors);
    }
    let id = sensors.get(reading.sensor);
    if (id === undefined) {
      id = findSeries.get(reading.organisation, reading.sensor);
      id ??= Number(addSeries.run(reading.organisation, reading.sensor).lastInsertRowid);
      sensors.set(reading.sensor, id);
      named.push(reading);
    }
    lastSensor = reading;
    lastSeries = id;
    return id;
  }

  function addToHour(series: number, timeMs: number, humidity: Kept, temperature: Kept): void {
    const hourNumber = Math.floor(timeMs / hourMs);
    const key = series * hoursPerSeries + hourNumber;
    let delta = key === lastKey ? lastDelta : deltas.get(key);
    if (!delta) {
      const hour = hourNumber * hourMs;
      delta = {
        series,
        hour,
        hCount: 0,
        hSum: 0,
        hMin: null,
        hMax: null,
        tCount: 0,
        tSum: 0,
        tMin: null,
        tMax: null,
      };
      deltas.set(key, delta);
    }
    lastKey = key;
    lastDelta = delta;
    if (humidity !== null) {
      delta.hCount += 1;
      delta.hSum += humidity;
      if (delta.hMin === null || humidity < delta.hMin) delta.hMin = humidity;
      if (delta.hMax === null || humidity > delta.hMax) delta.hMax = humidity;
    }
    if (temperature !== null) {
      delta.tCount += 1;
      delta.tSum += temperature;
      if (delta.tMin === null || temperature < delta.tMin) delta.tMin = temperature;
      if (delta.tMax === null || temperature > delta.tMax) delta.tMax = temperature;
    }
  }

  /** What `came` adds to `had`: the value where the field was empty, null where there is nothing new. */
  function added(had: Kept, came: Kept, counts: Counts): Kept {
    if (came === null) return null;
    if (had === null) {
      counts.stored += 1;
      return came;
    }
    if (had === came) counts.duplicates += 1;
    else counts.conflicts += 1;
    return null;
  }

  function merge(series: number, timeMs: number, came: Row, counts: Counts): void {
    const had = find.get(series, timeMs);
    if (!had) throw new Error('a reading vanished within its own transaction');
    const humidity = added(had.humidity, came.humidity, counts);
    const temperature = added(had.temperature, came.temperature, counts);
    const battery = added(had.battery, came.battery, counts);
    if (humidity === null && temperature === null && battery === null) return;
    fill.run(
      had.humidity ?? humidity,
      had.temperature ?? temperature,
      had.battery ?? battery,
      series,
      timeMs,
    );
    addToHour(series, timeMs, humidity, temperature);
  }

  function forgetHours(): void {
    deltas = new Map();
    lastKey = -1;
    lastDelta = undefined;
  }

  const kept = (value: number | undefined): Kept => (value === undefined ? null : toHundredths(value));

  return {
    write(readings, counts) {
      for (const reading of readings) {
        const humidity = kept(reading.humidityPct);
        const temperature = kept(reading.temperatureC);
        const battery = kept(reading.batteryPct);
        const values = Number(humidity !== null) + Number(temperature !== null) + Number(battery !== null);
        if (values === 0) continue;
        const series = seriesOf(reading);
        if (insert.run(series, reading.timeMs, humidity, temperature, battery).changes === 1) {
          counts.stored += values;
          addToHour(series, reading.timeMs, humidity, temperature);
        } else {
          merge(series, reading.timeMs, { humidity, temperature, battery }, counts);
        }
      }
    },
    finish() {
      if (deltas.size === 0) return;
      const seq = nextSeq.get();
      for (const d of deltas.values()) {
        addHour.run(
          d.series,
          d.hour,
          seq,
          d.hCount,
          d.hSum,
          d.hMin,
          d.hMax,
          d.tCount,
          d.tSum,
          d.tMin,
          d.tMax,
        );
      }
      forgetHours();
    },
    committed() {
      named = [];
    },
    rolledBack() {
      for (const { organisation, sensor } of named) known.get(organisation)?.delete(sensor);
      named = [];
      lastSensor = undefined;
      forgetHours();
    },
  };
}
