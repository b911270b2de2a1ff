/**
 * Until people sign in, whoever reaches the page may change everything; so only this machine may, and only through
 * pages of ours. A browser here can be led by a foreign page to call a loopback address, or by a foreign name that
 * resolves to it: both are refused.
 */
import type { RequestHandler } from 'express';
import { sendProblem } from './problem.ts';

const localHosts = /^(localhost|127\.0\.0\.1|\[::1\])(:\d+)?$/i;

export const localOnly: RequestHandler = (req, res, next) => {
  if (!localHosts.test(req.headers.host ?? '')) {
    return sendProblem(res, 403, 'Host: the page answers on this machine only, as localhost or 127.0.0.1');
  }
  const { origin } = req.headers;
  const site = req.headers['sec-fetch-site'];
  const foreign = (origin !== undefined && !ours(origin, req.headers.host)) || site === 'cross-site';
  // A link followed from elsewhere may open the page; nothing foreign may read from or write to the interface.
  if (foreign && (req.method !== 'GET' || req.path.startsWith('/api'))) {
    return sendProblem(res, 403, 'Origin: another page may not call this service');
  }
  next();
};

function ours(origin: string, host: string | undefined): boolean {
  try {
    return new URL(origin).host === host;
  } catch {
    return false;
  }
}
