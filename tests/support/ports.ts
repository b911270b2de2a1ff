/** Ports of this machine: one that is free, and whether one is listened on. */
import { once } from 'node:events';
import { connect, createServer, type Server } from 'node:net';

/** Has a server listen for this machine alone. @returns its port */
export async function listen(server: Server, port = 0): Promise<number> {
  server.listen(port, '127.0.0.1');
  await once(server, 'listening');
  const address = server.address();
  if (address === null || typeof address === 'string') throw new Error('no port');
  return address.port;
}

/**
 * Below those that the system gives to any connection, and apart for each worker of the tests: else somebody takes the
 * port before whoever it is for listens there.
 */
const own = { first: 12_000 + (Number(process.env.VITEST_POOL_ID ?? 0) % 5) * 4_000, count: 4_000 };
let tried = Math.floor(Math.random() * own.count);

/** A port nobody listens on now. */
export async function freePort(): Promise<number> {
  for (let times = 0; times < own.count; times += 1) {
    tried = (tried + 1) % own.count;
    const server = createServer();
    const port = await listen(server, own.first + tried).catch(() => null);
    if (port === null) continue;
    server.close();
    await once(server, 'close');
    return port;
  }
  throw new Error(`no port is free from ${own.first} on`);
}

/** Whether somebody takes a connection there. */
export async function listens(port: number): Promise<boolean> {
  const socket = connect(port, '127.0.0.1');
  const open = await Promise.race([
    once(socket, 'connect').then(() => true),
    once(socket, 'close').then(() => false),
  ]).catch(() => false);
  socket.destroy();
  return open;
}
