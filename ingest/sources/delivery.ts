/**
 * Acknowledges what one connection delivered: in the order it came, as MQTT asks, each after its commit, and only while
 * that connection is the current one. After a lost session the broker numbers its messages anew, and a PUBACK that
 * comes late would acknowledge another message.
 *
 * @source MQTT 3.1.1 section 4.6 (PUBACK in the order of PUBLISH), MQTT 5.0 section 4.6
 */
import type { Writable } from 'node:stream';
import mqttPacket from 'mqtt-packet';

export interface Delivery {
  /** Registers a message; call the answer with whether it may be acknowledged. */
  expect(messageId: number): (stored: boolean) => void;
}

export function createDelivery(
  stream: Pick<Writable, 'write'>,
  protocolVersion: 4 | 5,
  isCurrent: () => boolean,
): Delivery {
  const waiting: { readonly messageId: number; stored?: boolean }[] = [];

  let planned = false;

  function flush(): void {
    planned = false;
    const ready = waiting.findIndex(({ stored }) => stored === undefined);
    const settled = waiting.splice(0, ready === -1 ? waiting.length : ready).filter(({ stored }) => stored);
    if (settled.length === 0 || !isCurrent()) return;
    const packets = settled.map(({ messageId }) =>
      mqttPacket.generate({ cmd: 'puback', messageId, reasonCode: 0 }, { protocolVersion }),
    );
    stream.write(Buffer.concat(packets));
  }

  return {
    expect(messageId) {
      const one: (typeof waiting)[number] = { messageId };
      waiting.push(one);
      return (stored) => {
        one.stored = stored;
        if (planned || waiting[0] !== one) return;
        planned = true;
        // After all promises of this commit have had their turn, so that one write acknowledges it.
        process.nextTick(flush);
      };
    },
  };
}
