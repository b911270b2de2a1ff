/** A small fleet, put into a running service the way its owner would: records and readings over HTTP. */
import { randomUUID } from 'node:crypto';
import { api, tuning } from '../support/api.ts';
import { eventually, type RunningService } from '../support/service.ts';
import type { Undo } from '../support/standing.ts';
import { gatewayStage, type Stage } from './stage.ts';

const hourMs = 3_600_000;
export const dayMs = 24 * hourMs;
export const gapDaysAgo = { from: 31, to: 27 } as const;

export interface Fleet {
  readonly client: ReturnType<typeof api>;
  /** Left at standard pitch five weeks ago, before a month of dry air. */
  readonly flat: string;
  /** Tuned yesterday. */
  readonly calm: string;
  /** Nothing measures its air. */
  readonly unheard: string;
  readonly roomName: string;
}

export const newcomer = 'urn:dev:mac:0200000000cc09';
const inRoom = 'urn:dev:mac:0200000000cc01';
const inside = 'urn:dev:mac:0200000000cc02';

/** Hourly records of one sensor; a gap of four days where `gapDaysAgo` says. */
function course(urn: string, days: number, humidityAt: (daysAgo: number) => number): object[] {
  const nowMs = Date.now();
  return Array.from({ length: days * 24 }, (_, i) => (days * 24 - i) / 24)
    .filter((daysAgo) => daysAgo > gapDaysAgo.from || daysAgo < gapDaysAgo.to)
    .flatMap((daysAgo) => {
      const t = Math.round((nowMs - daysAgo * dayMs) / 1000);
      return [
        { n: `${urn}:humidity`, u: '%RH', v: Math.round(humidityAt(daysAgo) * 10) / 10, t },
        { n: `${urn}:temperature`, u: 'Cel', v: 20.5, t },
      ];
    });
}

async function seedFleet(service: RunningService, token: string): Promise<Fleet> {
  const client = api(service.url);
  const send = async (pack: object[]) => {
    const { status, body } = await client.sendPack(token, pack);
    if (status >= 300) throw new Error(`readings: ${status} ${JSON.stringify(body)}`);
  };
  const { roomId, instrumentId: flat } = await client.house({ name: 'Grand 185 cm' });
  const { instrumentId: unheard } = await client.house({ name: 'Upright 118 cm', kind: 'upright' });
  const room = await client.instrument(flat);
  const calm = randomUUID();
  await client.put(`/api/instruments/${calm}`, {
    roomId,
    name: 'Upright 131 cm with a name that is much longer than anybody would ever put on a label, Tremontaine',
    kind: 'upright',
    sizeCm: 131,
    year: 1974,
    serial: '88-Ä-104',
    pitchStandardHz: 442,
    use: 'practice',
    board: room.board,
    remarks: 'The key hangs behind the door.',
  });

  const weather = (daysAgo: number) => (daysAgo > 28 ? 48 : 36) + 3 * Math.sin(daysAgo * 6.28);
  await send(course(inRoom, 70, weather));
  await send(course(inside, 70, (daysAgo) => weather(daysAgo) + 2));
  // Among them a value no air has: it is set aside, and told on the sensors page.
  await send([...course(newcomer, 1, () => 41), { n: `${newcomer}:humidity`, u: '%RH', v: 140 }]);
  await eventually('the sensors make themselves known', async () => {
    const { sensors } = await client.sensors();
    return [inRoom, inside, newcomer].every((urn) => sensors.some((one) => one.urn === urn));
  });
  const fromMs = Date.now() - 71 * dayMs;
  await client.placeInRoom(inRoom, roomId, fromMs);
  const { sensors } = await client.sensors();
  await client.put(`/api/placements/${randomUUID()}`, {
    sensorId: sensors.find((one) => one.urn === inside)?.id,
    spot: 'inside',
    roomId: null,
    instrumentId: flat,
    venueId: null,
    fromMs,
    untilMs: null,
  });
  await client.put(`/api/visits/${randomUUID()}`, {
    ...tuning(flat, Date.now() - 60 * dayMs),
    unisonsLeftCents: 0.8,
    note: 'Two strings replaced in the treble.',
    by: 'Orla Finisterre',
  });
  await client.put(`/api/visits/${randomUUID()}`, tuning(flat, Date.now() - 40 * dayMs));
  await client.put(`/api/visits/${randomUUID()}`, tuning(calm, Date.now() - dayMs));
  await eventually(
    'the board is known and its tuning asked for',
    async () => {
      const page = await client.instrument(flat);
      return page.boardMoisturePct !== null && page.calls.some(({ kind }) => kind === 'tuning');
    },
    90_000,
  );
  return { client, flat, calm, unheard, roomName: room.roomName };
}

/** The fleet on a stage of its own. */
export async function fleetStage(undo: Undo): Promise<Stage & Fleet> {
  const stage = await gatewayStage(undo);
  return { ...stage, ...(await seedFleet(stage.service, stage.gateway.token)) };
}
