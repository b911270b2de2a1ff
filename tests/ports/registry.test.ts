/** What ingest asks of the registry: in the process, and over the workers' door on a real port. */
import express from 'express';
import pino from 'pino';
import { expect, test } from 'vitest';
import { workerService } from '../../ingest/worker-service.ts';
import { listen } from '../../server/http/listen.ts';
import { problemHandler } from '../../server/http/problem.ts';
import { mountWorkers } from '../../server/http/workers.ts';
import { describeRegistry } from './registry.ts';

const workerToken = 'a-token-the-workers-share';

describeRegistry('in the process', async ({ gateways, refused, memory, hearing }) => ({
  asked: { gateways, refused, memory, report: async (batch) => hearing.report(batch) },
  async stop() {},
}));

describeRegistry('over HTTP', async (registry) => {
  const app = express();
  // The clock of the worker is the machine's.
  mountWorkers(app, { ...registry, workerToken, outside: null, now: Date.now });
  app.use(problemHandler(pino({ level: 'silent' })));
  const http = await listen(app, { host: '127.0.0.1', port: 0 });
  return { asked: workerService(`http://127.0.0.1:${http.port}`, workerToken), stop: () => http.stop() };
});

test('a service that is not there keeps nothing, and nobody is told otherwise', async () => {
  const gone = workerService('http://127.0.0.1:1', workerToken);
  await expect(gone.gateways.byName('attic')).rejects.toThrow();
  await expect(gone.memory.keep('a', 1)).rejects.toThrow();
  await expect(gone.greet()).rejects.toThrow(/^The service at http:\/\/127\.0\.0\.1:1 cannot be used: /);
});
