/** The HTTP face: routes of the contract, the page, and who may come in. Each route is parse, call, map. */
import { existsSync } from 'node:fs';
import path from 'node:path';
import express, { type Express, type Request, type Response } from 'express';
import helmet from 'helmet';
import { type Route, routes } from '../contract/index.ts';
import { mountCare } from './care-door.ts';
import { driftHandlers } from './drift.ts';
import { mountFiles } from './files.ts';
import { fleetHandlers } from './fleet.ts';
import type { AppDeps, Handlers } from './handlers.ts';
import { instrumentHandlers } from './instruments.ts';
import { inventoryHandlers } from './inventory.ts';
import { lineProtocolHandler } from './line-protocol.ts';
import { mountLinks } from './links.ts';
import { localOnly } from './local-only.ts';
import { createMetrics } from './metrics.ts';
import { openApiDocument } from './openapi.ts';
import { parse } from './parse.ts';
import { peopleHandlers } from './people.ts';
import { placeHandlers } from './places.ts';
import { problemHandler, sendProblem } from './problem.ts';
import { readingsHandler } from './readings.ts';
import { roomHandlers } from './rooms.ts';
import { sensorHandlers } from './sensors.ts';
import { sheetHandlers } from './sheets.ts';
import { mountTaskLinks } from './task-links.ts';
import { visitHandlers } from './visits.ts';
import { watchHandlers } from './watch.ts';
import { mountWorkers } from './workers.ts';

const bodyLimit = '1mb';
/** Senders of line protocol gather thousands of lines. */
const linesLimit = '10mb';

export function createApp(deps: AppDeps): Express {
  const app = express();
  app.disable('x-powered-by');
  app.set('etag', 'strong');
  app.use(
    helmet({
      contentSecurityPolicy: {
        useDefaults: false,
        directives: {
          defaultSrc: ["'self'"],
          objectSrc: ["'none'"],
          baseUri: ["'none'"],
          formAction: ["'self'"],
          frameAncestors: ["'none'"],
        },
      },
      // The service speaks plain HTTP on loopback; a promise of HTTPS would lock other local services out.
      strictTransportSecurity: false,
    }),
  );
  // Links carry their own right to come in, also through a proxy under another name.
  mountLinks(app, deps);
  mountCare(app, deps);
  mountTaskLinks(app, deps);
  app.use(localOnly);
  app.post(
    routes.addReadings.path,
    express.raw({ type: () => true, limit: bodyLimit }),
    readingsHandler(deps),
  );
  app.post(
    ['/write', '/api/v2/write'],
    express.raw({ type: () => true, limit: linesLimit }),
    lineProtocolHandler(deps),
  );
  mountWorkers(app, deps);
  app.use('/api', express.json({ limit: bodyLimit, strict: false }));

  const handlers: Handlers = {
    ...placeHandlers(deps),
    ...roomHandlers(deps),
    ...sensorHandlers(deps),
    ...instrumentHandlers(deps),
    ...visitHandlers(deps),
    ...sheetHandlers(deps),
    ...fleetHandlers(deps),
    ...inventoryHandlers(deps),
    ...driftHandlers(deps),
    ...watchHandlers(deps),
    ...peopleHandlers(deps),
  };
  for (const name of Object.keys(handlers) as (keyof Handlers)[])
    mount(app, routes[name], handlers[name] as AnyHandler);

  mountFiles(app, deps);

  const document = openApiDocument(deps.version);
  app.get('/api/openapi.json', (_req, res) => void res.json(document));
  const metrics = createMetrics(deps.pipeline, deps.broker.clients, deps.outside);
  app.get('/metrics', async (_req, res) => void res.type(metrics.contentType).send(await metrics.metrics()));
  app.use('/api', (req, res) =>
    sendProblem(res, 404, `path: there is no ${req.method} ${req.originalUrl.split('?')[0]}`),
  );
  servePage(app);
  app.use(problemHandler(deps.log));
  return app;
}

type AnyHandler = (asked: { params: unknown; query: unknown; body: unknown }) => Promise<unknown>;

/** OpenAPI writes {id}, Express :id. */
const expressPath = (route: Route): string => route.path.replaceAll(/\{(\w+)\}/g, ':$1');

function mount(app: Express, route: Route, handler: AnyHandler): void {
  app[route.method](expressPath(route), async (req: Request, res: Response) => {
    if (route.body && !req.is('application/json')) {
      return sendProblem(res, 415, 'Content-Type: must be application/json');
    }
    const asked = {
      params: route.params && parse(route.params, { ...req.params }, 'path'),
      query: route.query && parse(route.query, { ...req.query }, 'query'),
      body: route.body && parse(route.body, req.body, 'body'),
    };
    res.set('Cache-Control', 'private, no-cache').json(await handler(asked));
  });
}

/** The built page, beside the built server; every address without a file of its own is the page's own. */
function servePage(app: Express): void {
  const page = path.resolve(import.meta.dirname, '../../web');
  if (!existsSync(page)) return;
  app.use(
    '/assets',
    express.static(path.join(page, 'assets'), { immutable: true, maxAge: '1y', fallthrough: false }),
  );
  app.use(express.static(page, { index: false, maxAge: 0 }));
  app.get('/{*address}', (req, res, next) => {
    // A missing file is missing; only addresses of the page itself get the page.
    if (path.extname(req.path) !== '') return next();
    res.set('Cache-Control', 'no-cache').sendFile('index.html', { root: page });
  });
  app.use((req, res) => sendProblem(res, 404, `path: there is nothing at ${req.path}`));
}
