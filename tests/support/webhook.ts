/** A real HTTP server that takes what webhooks send, and answers as the test says. */
import { createServer, type IncomingHttpHeaders } from 'node:http';
import { listen } from './ports.ts';

export interface Taken {
  /** The idempotency key. */
  readonly id: string;
  readonly headers: IncomingHttpHeaders;
  readonly body: string;
}
export type HookAnswer = { readonly status: number; readonly headers?: Record<string, string> } | 'hang';

export interface Webhook {
  readonly url: string;
  readonly got: Taken[];
  /** Called when a message was taken and not yet answered, and waited for. */
  before: { answer?: () => unknown };
  stop(): Promise<void>;
}

/** @param answer to each message; counted from 1. Absent: 204. */
export async function openWebhook(
  answer: (count: number) => HookAnswer = () => ({ status: 204 }),
): Promise<Webhook> {
  const server = createServer((req, res) => {
    let body = '';
    req.on('data', (chunk: Buffer) => {
      body += chunk.toString();
    });
    req.on('end', async () => {
      hook.got.push({ id: String(req.headers['idempotency-key']), headers: req.headers, body });
      const how = answer(hook.got.length);
      await hook.before.answer?.();
      if (how !== 'hang') res.writeHead(how.status, how.headers).end();
    });
  });
  const port = await listen(server);
  const hook: Webhook = {
    url: `http://127.0.0.1:${port}/notices`,
    got: [],
    before: {},
    stop: () =>
      new Promise<void>((resolve) => {
        server.closeAllConnections();
        server.close(() => resolve());
      }),
  };
  return hook;
}
