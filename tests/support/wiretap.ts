/** Stands between a client and a broker and keeps what went over each connection, both ways, in order. */
import { once } from 'node:events';
import { connect, createServer, type Socket } from 'node:net';
import mqttPacket from 'mqtt-packet';
import { listen } from './ports.ts';

export interface Tapped {
  readonly from: 'client' | 'broker';
  readonly packet: mqttPacket.Packet;
}

export interface Wiretap {
  readonly port: number;
  /** One list per connection, oldest first. */
  readonly connections: readonly (readonly Tapped[])[];
  /** Breaks every connection, both ways. */
  cut(): void;
  stop(): Promise<void>;
}

export async function startWiretap(brokerPort: number, protocolVersion: 4 | 5): Promise<Wiretap> {
  const connections: Tapped[][] = [];
  const sockets = new Set<Socket>();
  const server = createServer((client) => {
    const broker = connect(brokerPort, '127.0.0.1');
    const seen: Tapped[] = [];
    connections.push(seen);
    for (const [name, from, to] of [
      ['client', client, broker],
      ['broker', broker, client],
    ] as const) {
      const parser = mqttPacket.parser({ protocolVersion });
      parser.on('packet', (packet: mqttPacket.Packet) => seen.push({ from: name, packet }));
      from.on('data', (bytes) => parser.parse(bytes));
      from.on('error', () => {});
      from.on('close', () => to.destroy());
      from.pipe(to);
      sockets.add(from);
    }
  });
  const port = await listen(server);
  return {
    port,
    connections,
    cut() {
      for (const socket of sockets) socket.destroy();
    },
    async stop() {
      for (const socket of sockets) socket.destroy();
      server.close();
      await once(server, 'close');
    },
  };
}
