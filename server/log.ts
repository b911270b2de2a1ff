/** The log: one JSON object a line on standard output. Passwords, tokens and payloads are never handed to it. */
import { type Logger, pino } from 'pino';

export type Log = Logger;

export function createLog(level: string): Log {
  return pino({
    level,
    base: null,
    timestamp: pino.stdTimeFunctions.isoTime,
    redact: ['*.password', '*.token', '*.authorization', 'req.headers'],
  });
}
