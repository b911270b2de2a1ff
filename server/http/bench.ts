/** The decode bench: what a profile makes of a message, saving it, and reading again what was set aside. */
import { decodeMessage, type Gateway, type Profile, readProfile, type Step } from '../../ingest/index.ts';
import { setProfile } from '../registry/gateways.ts';
import { seeRefused } from '../registry/refused.ts';
import { linesOf, replayRefused } from '../registry/replay.ts';
import { gatewaysNow, setAsideMessage, setAsideMessages } from '../registry/set-aside.ts';
import { NotFound } from '../registry/viewer.ts';
import type { AppDeps, Handlers } from './handlers.ts';
import { BadRequest } from './problem.ts';

type BenchRoutes = 'gateways' | 'setAside' | 'tryProfile' | 'putProfile' | 'replaySetAside' | 'seeRefused';

/** Enough to see whether a profile is right. */
const shownSteps = 60;
const shownReadings = 40;
const shownRefusals = 20;

/** @throws BadRequest with what the profile breaks, in sentences */
function profileFrom(value: unknown): Profile {
  try {
    return readProfile(value);
  } catch (error) {
    const sentence = error instanceof Error ? error.message : String(error);
    throw new BadRequest([{ field: 'profile', sentence }]);
  }
}

export function benchHandlers({ db, viewer, gateways, pipeline, now }: AppDeps): Pick<Handlers, BenchRoutes> {
  async function known(name: string): Promise<Gateway> {
    const gateway = await gateways.byName(name);
    if (gateway?.organisation !== viewer.organisationId)
      throw new NotFound('name', `name: there is no gateway named "${name}"`);
    return gateway;
  }
  return {
    gateways: () => gatewaysNow(db, viewer),
    setAside: ({ query }) => setAsideMessages(db, viewer, query),
    async tryProfile({ params, body }) {
      const gateway = await known(params.name);
      const profile = profileFrom(body.profile);
      const nowMs = now();
      const pasted = {
        topic: body.topic ?? `readings/${gateway.name}`,
        payload: new TextEncoder().encode(body.text ?? ''),
        receivedMs: nowMs,
      };
      const sent =
        body.setAsideId === undefined ? pasted : await setAsideMessage(db, viewer, body.setAsideId);
      const steps: Step[] = [];
      const { readings, refused, skipped } = decodeMessage(
        { ...sent, gateway: { ...gateway, profile }, againMs: nowMs, lines: linesOf(sent.topic) },
        (step) => {
          if (steps.length < shownSteps) steps.push(step);
        },
      );
      return {
        steps,
        readings: readings.slice(0, shownReadings).map((one) => ({
          sensor: one.sensor,
          timeMs: one.timeMs,
          humidityPct: one.humidityPct ?? null,
          temperatureC: one.temperatureC ?? null,
          batteryPct: one.batteryPct ?? null,
        })),
        total: readings.length,
        refused: refused.slice(0, shownRefusals),
        skipped,
      };
    },
    async putProfile({ params, body }) {
      const gateway = await known(params.name);
      const profile = profileFrom(body);
      await setProfile(db, viewer, gateway.name, profile.kind === 'senml' ? null : profile);
      return profile;
    },
    replaySetAside: async ({ params }) => replayRefused(db, await known(params.name), pipeline, now),
    seeRefused: ({ body }) => seeRefused(db, viewer, body),
  };
}
