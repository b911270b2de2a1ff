/** Tries a profile on a message as it is being written, and shows what the last answer was. */
import { useEffect, useState } from 'preact/hooks';
import type { BenchOutcome, GatewayProfile } from '../../../server/contract/index.ts';
import { call } from '../../service/call.ts';

export interface Trial {
  readonly outcome: BenchOutcome | null;
  /** Why it could not be tried. */
  readonly trouble: string | null;
}

export interface Tried {
  readonly setAsideId?: number;
  readonly topic?: string;
  readonly text?: string;
}

const pauseMs = 250;

/** @param message null: there is nothing to try it on */
export function useTrial(gateway: string, profile: GatewayProfile, message: Tried | null): Trial {
  const [trial, setTrial] = useState<Trial>({ outcome: null, trouble: null });
  const asked = message && JSON.stringify({ profile, ...message });
  useEffect(() => {
    if (gateway === '' || asked === null) {
      setTrial({ outcome: null, trouble: null });
      return;
    }
    const stop = new AbortController();
    const timer = setTimeout(async () => {
      try {
        const outcome = await call(
          'tryProfile',
          { params: { name: gateway }, body: JSON.parse(asked) },
          stop.signal,
        );
        setTrial({ outcome, trouble: null });
      } catch (error) {
        if (stop.signal.aborted) return;
        setTrial({ outcome: null, trouble: error instanceof Error ? error.message : String(error) });
      }
    }, pauseMs);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }, [gateway, asked]);
  return trial;
}
