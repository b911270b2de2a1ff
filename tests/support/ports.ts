/** Ports of this machine: one that is free, and whether one is listened on. */
import { once } from 'node:events';
import { connect, createServer } from 'node:net';

/** A port nobody listens on now. */
export async function freePort(): Promise<number> {
  const server = createServer();
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  const address = server.address();
  server.close();
  await once(server, 'close');
  if (address === null || typeof address === 'string') throw new Error('no port');
  return address.port;
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
