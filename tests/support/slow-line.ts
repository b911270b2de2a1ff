/** A bad line: passes bytes on both ways, only so many a second. */
import { once } from 'node:events';
import { connect, createServer, type Socket } from 'node:net';
import { setTimeout as pause } from 'node:timers/promises';
import { listen } from './ports.ts';

export interface SlowLine {
  readonly port: number;
  /** Passed on so far, both ways together. */
  readonly bytes: () => number;
  stop(): Promise<void>;
}

export async function startSlowLine(toPort: number, bytesPerSecond: number): Promise<SlowLine> {
  let passed = 0;
  const sockets = new Set<Socket>();
  async function pass(from: Socket, to: Socket): Promise<void> {
    for await (const chunk of from) {
      const bytes = Buffer.from(chunk);
      await pause((bytes.length / bytesPerSecond) * 1_000);
      passed += bytes.length;
      if (!to.write(bytes)) await once(to, 'drain');
    }
    to.end();
  }
  const server = createServer({ highWaterMark: 4_096 }, (near) => {
    const far = connect({ port: toPort, host: '127.0.0.1' });
    for (const socket of [near, far]) {
      sockets.add(socket);
      socket.setNoDelay(true);
      socket.on('error', () => {});
      socket.on('close', () => {
        sockets.delete(socket);
        near.destroy();
        far.destroy();
      });
    }
    // A line that breaks ends both sides; there is nobody to tell.
    pass(near, far).catch(() => {});
    pass(far, near).catch(() => {});
  });
  const port = await listen(server);
  return {
    port,
    bytes: () => passed,
    async stop() {
      for (const socket of sockets) socket.destroy();
      server.close();
      await once(server, 'close');
    },
  };
}
