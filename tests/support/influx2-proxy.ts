/**
 * The write API of InfluxDB 2.x in front of a real 1.x: /api/v2/write becomes /write, /query passes through, both only
 * with the token. The bodies are not looked at.
 */
import { once } from 'node:events';
import { createServer, request } from 'node:http';
import { listen } from './ports.ts';

export interface Influx2Proxy {
  readonly origin: string;
  readonly writes: () => number;
  stop(): Promise<void>;
}

export async function startInflux2Proxy(engine: string, token: string, org = 'house'): Promise<Influx2Proxy> {
  let writes = 0;
  const server = createServer((asked, answer) => {
    const url = new URL(asked.url ?? '/', engine);
    const asPassword = `Basic ${Buffer.from(`${org}:${token}`).toString('base64')}`;
    if (![`Token ${token}`, asPassword].includes(asked.headers.authorization ?? '')) {
      answer.writeHead(401, { 'content-type': 'application/json' }).end('{"code":"unauthorized"}');
      return;
    }
    if (url.pathname === '/api/v2/write') {
      writes += 1;
      url.pathname = '/write';
      url.searchParams.set('db', url.searchParams.get('bucket') ?? '');
      if (url.searchParams.get('precision') === 'ns') url.searchParams.set('precision', 'n');
    }
    const { authorization: _, ...headers } = asked.headers;
    const passed = request(url, { method: asked.method, headers }, (came) => {
      answer.writeHead(came.statusCode ?? 502, came.headers);
      came.pipe(answer);
    });
    passed.on('error', () => answer.destroy());
    asked.pipe(passed);
  });
  const port = await listen(server);
  return {
    origin: `http://127.0.0.1:${port}`,
    writes: () => writes,
    async stop() {
      server.closeAllConnections();
      server.close();
      await once(server, 'close');
    },
  };
}
