import { createServer, type RequestListener } from 'node:http';
import type { AddressInfo } from 'node:net';

/** @throws Error with one sentence when the port is taken. */
export async function listen(
  app: RequestListener,
  { host, port }: { readonly host: string; readonly port: number },
): Promise<{ readonly port: number; stop(): Promise<void> }> {
  const server = createServer(app);
  await new Promise<void>((resolve, reject) => {
    server.once('error', (error: NodeJS.ErrnoException) => {
      const taken = error.code === 'EADDRINUSE';
      reject(
        new Error(
          taken
            ? `PORT: port ${port} is taken by another program; stop that one or set PORT to another.`
            : `PORT: port ${port} cannot be listened on (${error.code ?? error.message}).`,
        ),
      );
    });
    server.listen(port, host, resolve);
  });
  return {
    port: (server.address() as AddressInfo).port,
    stop: () =>
      new Promise((resolve) => {
        server.close(() => resolve());
        server.closeIdleConnections();
        // What still runs gets a moment, then is cut: stopping must end.
        setTimeout(() => server.closeAllConnections(), 2000).unref();
      }),
  };
}
