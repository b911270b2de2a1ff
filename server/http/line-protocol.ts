/**
 * POST /write and /api/v2/write: whatever already writes InfluxDB's line protocol can write here. The gateway shows
 * its token, or its name and password the way clients of 1.x do. 204 is said only after everything is stored or set
 * aside; the sender keeps what it is told 503 for.
 *
 * @source InfluxDB 1.x HTTP API (/write) and 2.x (/api/v2/write): parameters, credentials, answers (from memory)
 */
import type { Request, RequestHandler } from 'express';
import { type Gateway, precisionNamed } from '../../ingest/index.ts';
import type { AppDeps } from './handlers.ts';
import { sendProblem } from './problem.ts';

type Deps = Pick<AppDeps, 'gateways' | 'pipeline' | 'log' | 'now'>;

const textOf = (value: unknown): string | undefined => (typeof value === 'string' ? value : undefined);

async function gatewayOf(req: Request, { gateways }: Deps): Promise<Gateway | null> {
  const [, scheme = '', shown = ''] =
    /^(Bearer|Token|Basic) (\S+)$/i.exec(req.headers.authorization ?? '') ?? [];
  if (scheme && scheme.toLowerCase() !== 'basic') return gateways.byToken(shown);
  const [, user, password] = /^([^:]*):(.*)$/s.exec(Buffer.from(shown, 'base64').toString('utf8')) ?? [];
  const name = user ?? textOf(req.query.u);
  const secret = password ?? textOf(req.query.p);
  return name && secret ? gateways.byPassword(name, secret) : null;
}

export function lineProtocolHandler(deps: Deps): RequestHandler {
  const { pipeline, log, now } = deps;
  return async (req, res) => {
    const gateway = await gatewayOf(req, deps);
    if (!gateway)
      return sendProblem(res, 401, "Authorization: send a gateway's token, or its name and password");
    const precision = precisionNamed(textOf(req.query.precision));
    if (!precision) return sendProblem(res, 400, 'precision: must be ns, us, ms, s, m or h');
    const payload: Uint8Array = Buffer.isBuffer(req.body) ? req.body : Buffer.alloc(0);
    // With the precision, so that what is set aside can be read again.
    const topic = `${req.path}?precision=${precision}`;
    try {
      await pipeline.accept({ gateway, topic, payload, receivedMs: now(), lines: precision });
      res.status(204).end();
    } catch (error) {
      log.error({ err: error }, 'readings could not be stored; the sender is told to send them again');
      res.set('Retry-After', '30');
      sendProblem(res, 503, 'The readings could not be stored and were not taken; send them again.');
    }
  };
}
