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

/** A port nobody listens on now. */
export async function freePort(): Promise<number> {
  const server = createServer();
  const port = await listen(server);
  server.close();
  await once(server, 'close');
  return port;
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
