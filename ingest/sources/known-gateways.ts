/** Gateways by name, asked for once in a while only; the last answer holds while whoever knows cannot be asked. */
import type { Gateway, Gateways } from '../gateways.ts';

/** A gateway that was added, changed or taken away is known to be so after this long. */
const freshMs = 5_000;
const remembered = 10_000;

interface Known {
  readonly gateway: Gateway | null;
  readonly atMs: number;
}

/** @param sinceMs what was answered before it, by the same clock as `now`, is asked anew */
type KnownGateways = (name: string, sinceMs?: number) => Promise<Gateway | null>;

/** @returns rejects only for a name that was never answered for */
export function knownGateways(gateways: Pick<Gateways, 'byName'>, now: () => number): KnownGateways {
  const known = new Map<string, Known>();
  const asking = new Map<string, Promise<Gateway | null>>();

  async function ask(name: string): Promise<Gateway | null> {
    try {
      const gateway = await gateways.byName(name);
      // Anybody can make names up.
      if (known.size >= remembered) known.clear();
      known.set(name, { gateway, atMs: now() });
      return gateway;
    } catch (error) {
      const last = known.get(name);
      if (!last) throw error;
      return last.gateway;
    } finally {
      asking.delete(name);
    }
  }

  return async (name, sinceMs = Number.NEGATIVE_INFINITY) => {
    const last = known.get(name);
    if (last && last.atMs >= sinceMs && now() - last.atMs < freshMs) return last.gateway;
    const underWay = asking.get(name) ?? ask(name);
    asking.set(name, underWay);
    return underWay;
  };
}
