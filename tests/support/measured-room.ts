/** A room whose air a sensor has measured every hour up to now, sent to the service as a gateway does. */
import type { api } from './api.ts';
import { eventually, type GatewaySecrets } from './service.ts';

const hourMs = 3_600_000;
const hoursAPart = 600;

interface Measured {
  readonly urn: string;
  readonly roomId: string;
  readonly days: number;
  readonly nowMs: number;
  /** Of each hour, counted from the first; null: nothing was measured. */
  readonly airAt: (hour: number) => { readonly humidityPct: number; readonly temperatureC: number } | null;
}

/** Sends the readings, waits until the sensor has made itself known, and places it in the room's air. */
export async function measureRoom(
  { client, gateway }: { readonly client: ReturnType<typeof api>; readonly gateway: GatewaySecrets },
  { urn, roomId, days, nowMs, airAt }: Measured,
): Promise<void> {
  const hours = days * 24;
  for (let from = 0; from < hours; from += hoursAPart) {
    const part = Array.from({ length: Math.min(hoursAPart, hours - from) }, (_, i) => from + i);
    const pack = part.flatMap((hour) => {
      const air = airAt(hour);
      const t = Math.round((nowMs - (hours - 1 - hour) * hourMs) / 1000);
      return air === null
        ? []
        : [
            { n: `${urn}:humidity`, u: '%RH', v: air.humidityPct, t },
            { n: `${urn}:temperature`, u: 'Cel', v: air.temperatureC, t },
          ];
    });
    const { status, body } = await client.sendPack(gateway.token, pack);
    if (status !== 200) throw new Error(`readings: ${status} ${JSON.stringify(body)}`);
  }
  await eventually('the sensor is known', async () =>
    (await client.sensors()).sensors.some((one) => one.urn === urn),
  );
  await client.placeInRoom(urn, roomId, nowMs - (days + 1) * 24 * hourMs);
}
