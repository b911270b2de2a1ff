/** RFC 9457 problem details: one sentence that names the field, never a stack. */
import type { ErrorRequestHandler, Response } from 'express';
import type { Problem } from '../contract/index.ts';
import type { Log } from '../log.ts';
import { Contradiction, NotFound } from '../registry/viewer.ts';
import { NotAPicture } from '../visits/picture.ts';

export interface Fault {
  readonly field: string;
  readonly sentence: string;
}

/** What the caller sent cannot be taken. */
export class BadRequest extends Error {
  readonly faults: readonly Fault[];
  constructor(faults: readonly Fault[]) {
    super(faults.map((fault) => fault.sentence).join('; '));
    this.name = 'BadRequest';
    this.faults = faults;
  }
}

const titles: Record<number, string> = {
  400: 'This cannot be read',
  401: 'Who are you?',
  403: 'Not from there',
  404: 'Not found',
  405: 'Not this way',
  409: 'This contradicts what is kept',
  413: 'Too large',
  415: 'Not this kind of body',
  429: 'Too often',
  500: 'Something went wrong here',
  503: 'The store cannot keep anything just now',
};

export function sendProblem(res: Response, status: number, detail: string, faults?: readonly Fault[]): void {
  const body: Problem = {
    type: 'about:blank',
    title: titles[status] ?? 'Error',
    status,
    detail,
    ...(faults ? { faults: [...faults] } : {}),
  };
  res.status(status).type('application/problem+json').send(JSON.stringify(body));
}

/** What body-parser and Express say of a request they could not take. */
function statusOf(error: unknown): number | null {
  const status = typeof error === 'object' && error !== null && 'status' in error ? error.status : null;
  return typeof status === 'number' && status >= 400 && status < 500 ? status : null;
}

export function problemHandler(log: Log): ErrorRequestHandler {
  return (error: unknown, req, res, next) => {
    if (res.headersSent) return next(error);
    if (error instanceof BadRequest) return sendProblem(res, 400, error.message, error.faults);
    if (error instanceof NotFound) {
      return sendProblem(res, 404, error.message, [{ field: error.field, sentence: error.message }]);
    }
    if (error instanceof Contradiction) {
      return sendProblem(res, 409, error.message, [{ field: error.field, sentence: error.message }]);
    }
    if (error instanceof NotAPicture) return sendProblem(res, 415, error.message);
    const status = statusOf(error);
    if (status === 413) return sendProblem(res, 413, 'body: at most 1 MB at a time');
    if (status === 404) return sendProblem(res, 404, `path: there is nothing at ${req.path}`);
    if (status !== null) return sendProblem(res, status, 'body: this is not readable JSON');
    // Some addresses carry a secret, which no log may keep.
    const path = req.path.replace(/^\/(tasks|care|calendar|unsubscribe)\/.*/, '/$1/…');
    log.error({ err: error, method: req.method, path }, 'a request failed');
    return sendProblem(res, 500, 'Something went wrong here; it has been noted in the log.');
  };
}
