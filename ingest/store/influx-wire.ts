/** Two client libraries, one small face: write points, ask InfluxQL. Nothing is retried here; who sent a reading is. */
import { InfluxDB as InfluxDB2, Point } from '@influxdata/influxdb-client';
import { FieldType, InfluxDB } from 'influx';

export interface InfluxPlace {
  /** Scheme, host and port: http://127.0.0.1:8086 */
  readonly origin: string;
  /** A database of 1.x, or a bucket of 2.x. */
  readonly database: string;
  /** 1.x, where the server asks for it. */
  readonly user?: string | undefined;
  readonly password?: string | undefined;
  /** 2.x: its presence says so. */
  readonly org?: string | undefined;
  readonly token?: string | undefined;
}

export interface InfluxPoint {
  readonly measurement: 'reading' | 'arrived' | 'hour' | 'kept';
  readonly series: string;
  /** Whole numbers, and the text of a cursor; at least one. */
  readonly fields: Readonly<Record<string, number | string>>;
  /** Absent: the engine's clock says. */
  readonly timeMs?: number;
}

/** One series of an answer to InfluxQL; times as the engine writes them. */
export interface InfluxTable {
  readonly tags: Readonly<Record<string, string>>;
  readonly columns: readonly string[];
  readonly values: readonly (readonly unknown[])[];
}

export interface InfluxWire {
  /** Resolves when the engine has it on its disk. @throws PartialWrite, Error */
  write(points: readonly InfluxPoint[]): Promise<void>;
  /** @param times 'ms' as numbers, 'exact' as text with nanoseconds */
  ask(query: string, times: 'ms' | 'exact'): Promise<InfluxTable[]>;
  /** Deletes, by InfluxQL. */
  change(query: string): Promise<void>;
  /** 1.x makes its database; a bucket of 2.x is made by whoever gives out the token. */
  prepare(): Promise<void>;
}

/** The engine kept the batch but for `dropped` points, which are older than its retention. */
export class PartialWrite extends Error {
  readonly dropped: number;
  constructor(dropped: number) {
    super(`the engine dropped ${dropped} points older than its retention`);
    this.dropped = dropped;
  }
}

/**
 * A 400 can mean: stored but for the points beyond retention; stored but for those that contradict a field's type or
 * pass a limit on series; nothing stored. Only the first is a fault of the readings. The others are the engine's to
 * mend, and until then nothing is acknowledged.
 */
export function partialWrite(message: string): PartialWrite | null {
  if (!/retention policy/i.test(message)) return null;
  const dropped = Number(/dropped[ =](\d+)/i.exec(message)?.[1] ?? 0);
  return dropped > 0 ? new PartialWrite(dropped) : null;
}

/** How long the engine may take; the clients themselves wait for ever where it dies in the middle of an answer. */
export const answerWithinMs = 20_000;

async function inTime<Result>(work: Promise<Result>, what: string): Promise<Result> {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<never>((_, reject) => {
    timer = setTimeout(
      () => reject(new Error(`InfluxDB did not answer the ${what} within ${answerWithinMs / 1000} seconds`)),
      answerWithinMs,
    );
  });
  try {
    return await Promise.race([work, late]);
  } finally {
    clearTimeout(timer);
  }
}

const sentence = (error: unknown): string => (error instanceof Error ? error.message : String(error));

/** Never out of the pool: a pause between attempts is the sender's, and a timer of the pool would outlive `stop`. */
const noPause = {
  getDelay: () => 0,
  next: () => noPause,
  reset: () => noPause,
};

function client1({ origin, database, user, password, org, token }: InfluxPlace): InfluxDB {
  const { protocol, hostname, port } = new URL(origin);
  const scheme = protocol === 'https:' ? 'https' : 'http';
  const whole = FieldType.INTEGER;
  return new InfluxDB({
    hosts: [
      {
        host: hostname,
        port: Number(port || (scheme === 'https' ? 443 : 80)),
        protocol: scheme,
      },
    ],
    database,
    // The compatible endpoint of 2.x takes its token as the password of any user.
    username: org ?? user ?? '',
    password: token ?? password ?? '',
    pool: { maxRetries: 0, requestTimeout: answerWithinMs, backoff: noPause },
    schema: [
      {
        measurement: 'reading',
        tags: ['sensor'],
        fields: { humidity: whole, temperature: whole, battery: whole },
      },
      { measurement: 'arrived', tags: ['sensor'], fields: { from: whole } },
      {
        measurement: 'hour',
        tags: ['sensor'],
        fields: {
          ...{ h_count: whole, h_sum: whole, h_min: whole, h_max: whole },
          ...{ t_count: whole, t_sum: whole, t_min: whole, t_max: whole },
        },
      },
      { measurement: 'kept', tags: ['sensor'], fields: { cursor: FieldType.STRING } },
    ],
  });
}

type Write = InfluxWire['write'];

function writer1(client: InfluxDB): Write {
  return (points) =>
    client.writePoints(
      points.map(({ measurement, series, fields, timeMs }) => ({
        measurement,
        tags: { sensor: series },
        fields: { ...fields },
        // Nanoseconds as text: a number of JavaScript cannot hold them.
        ...(timeMs === undefined ? {} : { timestamp: `${timeMs}000000` }),
      })),
      { precision: 'n' },
    );
}

function writer2({ origin, database, org = '', token = '' }: InfluxPlace): Write {
  const client = new InfluxDB2({ url: origin, token, timeout: answerWithinMs });
  return async (points) => {
    let failure: Error | undefined;
    const api = client.getWriteApi(org, database, 'ns', {
      batchSize: points.length + 1,
      flushInterval: 0,
      maxRetries: 0,
      maxBufferLines: 0,
      writeFailed(error) {
        failure = error;
        return Promise.resolve();
      },
    });
    api.writeRecords(
      points.map(({ measurement, series, fields, timeMs }) => {
        const point = new Point(measurement).tag('sensor', series);
        for (const [name, value] of Object.entries(fields)) {
          if (typeof value === 'string') point.stringField(name, value);
          else point.intField(name, value);
        }
        // An empty text leaves the time to the engine; none would mean this machine's clock.
        point.timestamp(timeMs === undefined ? '' : `${timeMs}000000`);
        return point.toLineProtocol() ?? '';
      }),
    );
    await api.flush();
    api.dispose();
    if (failure) throw failure;
  };
}

const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** @throws Error with what the engine says is wrong with the query */
function tablesOf(answer: unknown): InfluxTable[] {
  const results = isRecord(answer) && Array.isArray(answer.results) ? answer.results : [];
  if (isRecord(answer) && typeof answer.error === 'string') throw new Error(answer.error);
  return results.flatMap((result: unknown) => {
    if (!isRecord(result)) return [];
    if (typeof result.error === 'string') throw new Error(result.error);
    const series: unknown[] = Array.isArray(result.series) ? result.series : [];
    return series.filter(isRecord).map(({ tags, columns, values }) => ({
      tags: isRecord(tags)
        ? Object.fromEntries(Object.entries(tags).map(([name, value]) => [name, String(value)]))
        : {},
      columns: Array.isArray(columns) ? columns.map(String) : [],
      values: Array.isArray(values) ? values.filter((row): row is unknown[] => Array.isArray(row)) : [],
    }));
  });
}

export function openWire(place: InfluxPlace): InfluxWire {
  const client = client1(place);
  const write = place.org === undefined ? writer1(client) : writer2(place);
  return {
    async write(points) {
      try {
        await inTime(write(points), 'write');
      } catch (error) {
        throw partialWrite(sentence(error)) ?? new Error(`InfluxDB could not store: ${sentence(error)}`);
      }
    },
    async ask(query, times) {
      const precision = times === 'ms' ? { precision: 'ms' as const } : {};
      try {
        return tablesOf(await inTime<unknown>(client.queryRaw(query, precision), 'query'));
      } catch (error) {
        // Its own error carries the request, and in it the password.
        throw new Error(`InfluxDB could not answer: ${sentence(error)}`);
      }
    },
    async change(query) {
      try {
        tablesOf(await inTime<unknown>(client.queryRaw(query, { method: 'POST' }), 'change'));
      } catch (error) {
        throw new Error(`InfluxDB could not delete: ${sentence(error)}`);
      }
    },
    async prepare() {
      if (place.org === undefined) await inTime(client.createDatabase(place.database), 'first question');
      else await inTime(client.queryRaw('SHOW MEASUREMENTS LIMIT 1'), 'first question');
    },
  };
}
