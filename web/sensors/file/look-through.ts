/** Looks through a whole file before any of it is stored: what cannot be read, and whether its clock follows summer time. */
import { useEffect, useState } from 'preact/hooks';
import type { LoggerShape } from '../../../server/contract/index.ts';
import { call } from '../../service/call.ts';
import { partsOf } from './parts.ts';

export interface Seen {
  readonly rows: number;
  readonly badRows: number;
  readonly skippedHours: number;
  readonly lastMs: number | null;
}

/** @returns null while it is looked through, or where it cannot be */
export function useLookThrough(file: Blob | null, shape: LoggerShape | null): Seen | null {
  const [seen, setSeen] = useState<Seen | null>(null);
  const asked = file && shape ? JSON.stringify(shape) : null;
  useEffect(() => {
    setSeen(null);
    if (!file || asked === null) return;
    const stop = new AbortController();
    void (async () => {
      const chosen = JSON.parse(asked) as LoggerShape;
      let [rows, badRows, skippedHours] = [0, 0, 0];
      let beforeMs: number | null = null;
      try {
        for await (const { text, firstLine } of partsOf(file)) {
          const taken: Awaited<ReturnType<typeof call<'takeLoggerPart'>>> = await call(
            'takeLoggerPart',
            { body: { sensor: 'looked-at', shape: chosen, text, firstLine, beforeMs, onlyLook: true } },
            stop.signal,
          );
          rows += taken.rows;
          badRows += taken.refused.length;
          skippedHours += taken.skippedHours;
          beforeMs = taken.lastMs;
        }
        if (!stop.signal.aborted) setSeen({ rows, badRows, skippedHours, lastMs: beforeMs });
      } catch {
        // The preview says what is wrong; bringing it in says it again.
      }
    })();
    return () => stop.abort();
  }, [file, asked]);
  return seen;
}
