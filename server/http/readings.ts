/** POST /api/readings: the same pack as over MQTT. 2xx is said only after the readings are committed. */
import type { RequestHandler } from 'express';
import type { ReadingsAnswer } from '../contract/index.ts';
import type { AppDeps } from './handlers.ts';
import { sendProblem } from './problem.ts';

export function readingsHandler({ gateways, pipeline, log, now }: AppDeps): RequestHandler {
  return async (req, res) => {
    const [, token] = /^Bearer ([\w-]+)$/.exec(req.headers.authorization ?? '') ?? [];
    const gateway = token ? await gateways.byToken(token) : null;
    if (!gateway) {
      res.set('WWW-Authenticate', 'Bearer');
      return sendProblem(res, 401, "Authorization: send a gateway's token, as in `Authorization: Bearer …`");
    }
    const payload: Uint8Array = Buffer.isBuffer(req.body) ? req.body : Buffer.alloc(0);
    try {
      const outcome = await pipeline.accept({ gateway, topic: req.path, payload, receivedMs: now() });
      const answer: ReadingsAnswer = {
        stored: outcome.stored,
        duplicates: outcome.duplicates,
        conflicts: outcome.conflicts,
        refused: outcome.refused.map(({ reason, sentence }) => ({ reason, sentence })),
      };
      if (
        answer.stored + (answer.duplicates ?? 0) + (answer.conflicts ?? 0) === 0 &&
        answer.refused.length > 0
      ) {
        const faults = answer.refused.map(({ sentence }) => ({ field: 'body', sentence }));
        return sendProblem(
          res,
          400,
          answer.refused[0]?.sentence ?? 'body: nothing of it can be stored',
          faults,
        );
      }
      res.json(answer);
    } catch (error) {
      log.error({ err: error }, 'readings could not be stored; the sender is told to send them again');
      res.set('Retry-After', '30');
      return sendProblem(res, 503, 'The readings could not be stored and were not taken; send them again.');
    }
  };
}
