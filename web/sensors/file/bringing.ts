/** Sends a file part by part; what stops it can be gone on from, and the whole may be sent again: nothing is stored twice. */
import { useRef, useState } from 'preact/hooks';
import type { LoggerShape } from '../../../server/contract/index.ts';
import { call } from '../../service/call.ts';
import { type Part, partsOf } from './parts.ts';

export interface Bad {
  readonly line: number | null;
  readonly sentence: string;
}

export interface Progress {
  readonly state: 'at rest' | 'under way' | 'stopped' | 'done';
  readonly doneBytes: number;
  readonly rows: number;
  readonly stored: number;
  readonly duplicates: number;
  readonly conflicts: number;
  readonly badRows: number;
  /** The first of them. */
  readonly bad: readonly Bad[];
  readonly trouble: string;
}

const nothing: Progress = {
  state: 'at rest',
  doneBytes: 0,
  rows: 0,
  stored: 0,
  duplicates: 0,
  conflicts: 0,
  badRows: 0,
  bad: [],
  trouble: '',
};
const shownBad = 500;

interface Journey {
  readonly parts: AsyncGenerator<Part>;
  readonly sensor: string;
  readonly shape: LoggerShape;
  /** The part that was not answered. */
  pending: Part | null;
  beforeMs: number | null;
}

export function useBringing(): {
  readonly progress: Progress;
  start(file: Blob, sensor: string, shape: LoggerShape): Promise<void>;
  goOn(): Promise<void>;
  pause(): void;
  forget(): void;
} {
  const [progress, setProgress] = useState<Progress>(nothing);
  const journey = useRef<Journey | null>(null);
  const paused = useRef(false);

  async function travel(one: Journey, sofar: Progress): Promise<void> {
    let told: Progress = { ...sofar, state: 'under way', trouble: '' };
    paused.current = false;
    setProgress(told);
    while (journey.current === one) {
      if (paused.current) {
        setProgress({ ...told, state: 'stopped', trouble: '' });
        return;
      }
      const next = one.pending ?? (await one.parts.next()).value ?? null;
      if (next === null) {
        setProgress({ ...told, state: 'done' });
        return;
      }
      one.pending = next;
      try {
        const taken = await call('takeLoggerPart', {
          body: {
            sensor: one.sensor,
            shape: one.shape,
            text: next.text,
            firstLine: next.firstLine,
            beforeMs: one.beforeMs,
          },
        });
        one.pending = null;
        one.beforeMs = taken.lastMs;
        told = {
          ...told,
          doneBytes: next.doneBytes,
          rows: told.rows + taken.rows,
          stored: told.stored + taken.stored,
          duplicates: told.duplicates + taken.duplicates,
          conflicts: told.conflicts + taken.conflicts,
          badRows: told.badRows + taken.refused.length,
          bad: [...told.bad, ...taken.refused].slice(0, shownBad),
        };
        setProgress(told);
      } catch (error) {
        setProgress({
          ...told,
          state: 'stopped',
          trouble: error instanceof Error ? error.message : String(error),
        });
        return;
      }
    }
  }

  return {
    progress,
    async start(file, sensor, shape) {
      const one: Journey = { parts: partsOf(file), sensor, shape, pending: null, beforeMs: null };
      journey.current = one;
      await travel(one, nothing);
    },
    async goOn() {
      if (journey.current) await travel(journey.current, progress);
    },
    pause() {
      paused.current = true;
    },
    forget() {
      journey.current = null;
      setProgress(nothing);
    },
  };
}
