/** A gateway that sends as fast as it is answered, keeps what was not acknowledged, and sends it again. */
import { setTimeout as pause } from 'node:timers/promises';
import { connectAs, openWire, publish } from '../integration/broker-stand.ts';

export interface Sample {
  readonly sensor: string;
  readonly timeMs: number;
  /** With hundredths, as they are kept. */
  readonly humidityPct: number;
}

export interface Place {
  readonly port: number;
  readonly user: string;
  readonly password: string;
}

export interface Rage {
  /** Asked after each acknowledgement of this connection; true ends it, and whoever says so ends the other side. */
  readonly enough?: (acknowledged: number) => boolean;
  /** false: only what was sent before and not acknowledged. */
  readonly sendNew?: boolean;
  /** Of all messages, those up to this one; absent: all. */
  readonly most?: number;
}

const inFlight = 400;
const sensors = 7;
const startMs = Date.UTC(2025, 0, 1);

/** Seven sensors in turn, a second apart. */
export const steadily = (number: number): Sample => ({
  sensor: `urn:dev:mac:0200000000${String(number % sensors).padStart(2, '0')}`,
  timeMs: startMs + number * 1_000,
  humidityPct: (3_000 + (number % 4_000)) / 100,
});

export class Storm {
  readonly sampleOf: (number: number) => Sample;
  readonly most: number;
  readonly acknowledged = new Set<number>();
  /** Messages sent, those that were sent again included. */
  published = 0;
  readonly #pending = new Set<number>();
  #next = 0;

  /** @param most how many messages there are in all */
  constructor(sampleOf = steadily, most = Number.POSITIVE_INFINITY) {
    this.sampleOf = sampleOf;
    this.most = most;
  }

  /** Messages sent at least once. */
  get sent(): number {
    return this.#next;
  }

  /** One connection, until all is acknowledged, or it has had enough, or it is ended by the other side. */
  async rage(
    { port, user, password }: Place,
    { enough = () => false, sendNew = true, most = this.most }: Rage = {},
  ) {
    const wire = await openWire(port);
    wire.send(connectAs(user, { password: Buffer.from(password) }));
    const inOrder = [...this.#pending];
    const byId = new Map<number, number>();
    let id = 0;
    const sendNext = (): boolean => {
      const again = inOrder.shift();
      if (again === undefined && (!sendNew || this.#next >= most)) return false;
      const number = again ?? this.#next++;
      this.#pending.add(number);
      do id = (id % 65_535) + 1;
      while (byId.has(id));
      byId.set(id, number);
      this.published += 1;
      const { sensor, timeMs, humidityPct } = this.sampleOf(number);
      const pack = [{ n: sensor, u: '%RH', v: humidityPct, t: timeMs / 1000 }];
      wire.send(publish(`readings/${user}`, pack, { messageId: id, dup: again !== undefined }));
      return true;
    };
    const settle = (messageId: number): void => {
      const number = byId.get(messageId);
      if (number === undefined) throw new Error(`PUBACK of ${messageId}, which was not sent`);
      byId.delete(messageId);
      this.#pending.delete(number);
      this.acknowledged.add(number);
    };
    let count = 0;
    try {
      const welcome = await wire.next('connack');
      if (!('returnCode' in welcome) || welcome.returnCode !== 0) return;
      for (let sent = 0; sent < inFlight && sendNext(); sent += 1);
      while (byId.size > 0) {
        settle((await wire.next('puback')).messageId ?? 0);
        count += 1;
        if (enough(count)) break;
        sendNext();
      }
      // Acknowledgements on their way when the process died are acknowledgements.
      while (byId.size > 0) settle((await wire.next('puback')).messageId ?? 0);
    } catch (error) {
      if (!(error instanceof Error && error.message.startsWith('closed'))) throw error;
    } finally {
      wire.socket.destroy();
    }
  }

  /** As a gateway in the field: it comes back until everything (or `most` of it) is acknowledged. */
  async untilAll(place: () => Place, most = this.most): Promise<void> {
    while (this.acknowledged.size < most) {
      await this.rage(place(), { most }).catch((error: NodeJS.ErrnoException) => {
        if (error.code !== 'ECONNREFUSED' && error.code !== 'ECONNRESET') throw error;
      });
      // Its own manners: it does not come back at once.
      await pause(50);
    }
  }
}
