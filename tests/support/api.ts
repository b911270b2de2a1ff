/** A second client of the HTTP interface: types from the contract, nothing of the page. */
import { randomUUID } from 'node:crypto';
import type {
  InstrumentBody,
  InstrumentPage,
  PitchTaken,
  SensorsPage,
  VisitBody,
} from '../../server/contract/index.ts';

export interface Answer {
  readonly status: number;
  readonly body: unknown;
}

export function api(url: string) {
  async function ask(
    method: string,
    path: string,
    body?: unknown,
    headers: Record<string, string> = {},
  ): Promise<Answer> {
    const response = await fetch(url + path, {
      method,
      headers: {
        // A connection of its own each: one kept open may have ended while a command held this process up.
        connection: 'close',
        ...(body === undefined ? {} : { 'content-type': 'application/json' }),
        ...headers,
      },
      ...(body === undefined ? {} : { body: typeof body === 'string' ? body : JSON.stringify(body) }),
    });
    const text = await response.text();
    const isJson = response.headers.get('content-type')?.includes('json');
    return { status: response.status, body: isJson ? JSON.parse(text) : text };
  }
  async function get<Body>(path: string): Promise<Body> {
    const { status, body } = await ask('GET', path);
    if (status !== 200) throw new Error(`GET ${path}: ${status} ${JSON.stringify(body)}`);
    return body as Body;
  }
  async function put(path: string, body: unknown): Promise<void> {
    const answer = await ask('PUT', path, body);
    if (answer.status !== 200)
      throw new Error(`PUT ${path}: ${answer.status} ${JSON.stringify(answer.body)}`);
  }
  return {
    ask,
    get,
    put,
    instrument: (id: string) => get<InstrumentPage>(`/api/instruments/${id}`),
    sensors: () => get<SensorsPage>('/api/sensors'),
    /** A venue with one room and one grand in it. */
    async house(changes: Partial<InstrumentBody> = {}) {
      const [venueId, roomId, instrumentId] = [randomUUID(), randomUUID(), randomUUID()];
      await put(`/api/venues/${venueId}`, { name: 'Larkmoor School of Music', timeZone: 'Europe/Vienna' });
      await put(`/api/rooms/${roomId}`, { ...roomBody, venueId });
      await put(`/api/instruments/${instrumentId}`, { ...instrumentBody, roomId, ...changes });
      return { venueId, roomId, instrumentId };
    },
    /** Sends a SenML pack as a gateway does. */
    sendPack: (token: string, pack: string | object) =>
      ask('POST', '/api/readings', pack, {
        'content-type': 'application/senml+json',
        authorization: `Bearer ${token}`,
      }),
    /** Places a sensor that has made itself known, in the air of a room. */
    async placeInRoom(urn: string, roomId: string, fromMs: number) {
      const { sensors } = await get<SensorsPage>('/api/sensors');
      const sensor = sensors.find((one) => one.urn === urn);
      if (!sensor) throw new Error(`no sensor ${urn}`);
      const placement = {
        sensorId: sensor.id,
        spot: 'room',
        roomId,
        instrumentId: null,
        venueId: null,
        fromMs,
        untilMs: null,
      };
      await put(`/api/placements/${randomUUID()}`, placement);
    },
  };
}

export const roomBody = {
  name: 'Studio 2',
  volumeM3: 60,
  airChangesPerHour: 0.5,
  wishedLowPct: 38,
  wishedHighPct: 52,
};

export const instrumentBody: Omit<InstrumentBody, 'roomId'> = {
  name: 'Grand 185 cm',
  kind: 'grand',
  sizeCm: 185,
  year: 1996,
  serial: null,
  pitchStandardHz: 440,
  use: 'studio',
  board: {
    species: 'spruce-sitka',
    thicknessMm: 8,
    finish: 'lacquer',
    construction: 'solid',
    ribbedAtMoisturePct: null,
  },
  remarks: '',
};

export const nothingMeasured: PitchTaken = {
  a4: null,
  bass: null,
  tenor: null,
  middle: null,
  treble: null,
  top: null,
};

/** A tuning that left the whole at its standard. */
export function tuning(instrumentId: string, atMs: number, changes: Partial<VisitBody> = {}): VisitBody {
  return {
    instrumentId,
    atMs,
    by: null,
    conditions: { humidityPct: null, temperatureC: null },
    asFound: null,
    asLeft: { ...nothingMeasured, a4: { unit: 'cents', value: 0 } },
    unisonsFoundCents: null,
    unisonsLeftCents: null,
    stringWork: false,
    minutes: 80,
    note: '',
    findings: [],
    corrects: null,
    ...changes,
  };
}
