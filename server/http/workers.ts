/**
 * What workers that collect alone ask: who a gateway is, to keep what they set aside, to note which sensors they heard,
 * and whose turn it is to watch their broker. They show a token they share, which opens nothing else.
 */
import { createHash, timingSafeEqual } from 'node:crypto';
import express, { type Express, type RequestHandler } from 'express';
import * as z from 'zod/mini';
import {
  type Gateways,
  type Heard,
  isSensorName,
  type Memory,
  type Refused,
  refusalReasons,
} from '../../ingest/index.ts';
import type { Hearing } from '../registry/heard-by.ts';
import { parse } from './parse.ts';
import { sendProblem } from './problem.ts';
import { createTurns } from './worker-turns.ts';

const sha256 = (text: string): Buffer => createHash('sha256').update(text).digest();
const bodyLimit = '1mb';
/** A payload that was set aside is kept whole up to 8 MB, and travels as base64. */
const setAsideLimit = '12mb';

const setAside = z.array(
  z.object({
    organisation: z.nullable(z.string()),
    gateway: z.nullable(z.string()),
    receivedMs: z.int(),
    topic: z.string(),
    reason: z.enum(refusalReasons),
    sentence: z.string(),
    payload: z.base64(),
  }),
);

const named = z.object({ name: z.string() });
const remembered = z.object({ value: z.number() });

/** Whose a gateway is, is not theirs to say; what their clock says is, so that it can be held against ours. */
const heard = z.object({
  nowMs: z.int(),
  heard: z
    .array(
      z.object({
        gateway: z.string().check(z.minLength(1), z.maxLength(100)),
        sensor: z.string().check(z.refine(isSensorName, 'must be a name of SenML (RFC 8428, section 4.5.1)')),
        firstMs: z.int(),
        lastMs: z.int(),
        messages: z.int().check(z.minimum(1)),
        leastAgeMs: z.int(),
      }),
    )
    .check(z.maxLength(1_000)),
});

const turn = z.object({ worker: z.string().check(z.minLength(1), z.maxLength(200)) });

/** The way here takes its time. */
const sameClockMs = 30_000;

/** A worker whose clock stands wrong would have every sensor's seem so. @param behindMs how much it is behind ours */
function byOurClock(batch: readonly Heard[], behindMs: number): readonly Heard[] {
  if (Math.abs(behindMs) < sameClockMs) return batch;
  return batch.map((one) => ({
    ...one,
    firstMs: one.firstMs + behindMs,
    lastMs: one.lastMs + behindMs,
    leastAgeMs: one.leastAgeMs + behindMs,
  }));
}

export interface WorkerDeps {
  readonly gateways: Pick<Gateways, 'byName'>;
  readonly refused: Refused;
  readonly memory: Memory;
  readonly hearing: Pick<Hearing, 'report'>;
  /** null: there are no workers, and nothing is answered. */
  readonly workerToken: string | null;
  /** The service collects from the broker elsewhere too, and watches it. */
  readonly outside: object | null;
  readonly now: () => number;
}

export function mountWorkers(
  app: Express,
  { gateways, refused, memory, hearing, workerToken, outside, now }: WorkerDeps,
): void {
  if (workerToken === null) return;
  const right = sha256(workerToken);
  const workersOnly: RequestHandler = (req, res, next) => {
    const [, token = ''] = /^Bearer (.+)$/.exec(req.headers.authorization ?? '') ?? [];
    if (timingSafeEqual(sha256(token), right)) return next();
    sendProblem(res, 401, 'Authorization: send the WORKER_TOKEN of the service');
  };
  app.get('/api/worker/gateways', workersOnly, async (req, res) => {
    res.json(await gateways.byName(parse(named, req.query, 'query').name));
  });
  app.get('/api/worker/memory', workersOnly, async (req, res) => {
    res.json(await memory.recall(parse(named, req.query, 'query').name));
  });
  app.put('/api/worker/memory', workersOnly, express.json(), async (req, res) => {
    const { value } = parse(remembered, req.body, 'body');
    await memory.keep(parse(named, req.query, 'query').name, value);
    res.json({ value });
  });
  app.post('/api/worker/refused', workersOnly, express.json({ limit: setAsideLimit }), async (req, res) => {
    const batch = parse(setAside, req.body, 'body');
    await refused.setAside(batch.map((one) => ({ ...one, payload: Buffer.from(one.payload, 'base64') })));
    res.json({ kept: batch.length });
  });
  app.post('/api/worker/heard', workersOnly, express.json({ limit: bodyLimit }), (req, res) => {
    const { nowMs, heard: batch } = parse(heard, req.body, 'body');
    hearing.report(byOurClock(batch, now() - nowMs));
    res.json({ noted: batch.length });
  });
  const turns = createTurns(() => performance.now(), outside !== null);
  app.put('/api/worker/turn', workersOnly, express.json(), (req, res) => {
    res.json({ yours: turns.takes(parse(turn, req.body, 'body').worker) });
  });
}
