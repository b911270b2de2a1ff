/** Readings of a sensor that are left out because they jumped and came back: looked at, believed, left out again. */
import type { DoubtsPage } from '../contract/index.ts';
import { believe, doubtRows } from '../registry/doubts.ts';
import { sensorRows } from '../registry/sensors.ts';
import { NotFound } from '../registry/viewer.ts';
import { stretchesOf } from '../series/left-out.ts';
import { hearersOf } from '../series/stands-at.ts';
import type { AppDeps, Handlers } from './handlers.ts';

/** Of one run, as a rule. */
const togetherMs = 3_600_000;
const mostShown = 50;

const least = (values: readonly number[]): number | null =>
  values.length === 0 ? null : Math.min(...values);
const most = (values: readonly number[]): number | null => (values.length === 0 ? null : Math.max(...values));

export function doubtHandlers(deps: AppDeps): Pick<Handlers, 'sensorDoubts' | 'believeReadings'> {
  const { db, viewer, sent, amendments, watch } = deps;

  async function urnOf(sensorId: string): Promise<string> {
    const row = (await sensorRows(db, viewer)).find((one) => one.id === sensorId);
    if (!row) throw new NotFound('id', 'id: no such sensor');
    return row.urn;
  }

  async function page(sensorId: string, urn: string): Promise<DoubtsPage> {
    const rows = await doubtRows(db, viewer, sensorId);
    const stretches = [true, false]
      .flatMap((believed) => {
        const alike = rows.filter((one) => one.believed === believed);
        return stretchesOf(alike, togetherMs).map((one) => ({ ...one, believed }));
      })
      .sort((a, b) => b.fromMs - a.fromMs)
      .slice(0, mostShown);
    const times = new Set(rows.map(({ fromMs }) => fromMs));
    const id = { organisation: viewer.organisationId, sensor: urn };
    const shown: DoubtsPage['stretches'] = [];
    for (const one of stretches) {
      const { timesMs, humidityPct, temperatureC } = await sent.read(id, one.fromMs, one.untilMs);
      const said = (column: readonly (number | null)[]) =>
        column.filter((value, i): value is number => value !== null && times.has(timesMs[i] ?? -1));
      const [pct, c] = [said(humidityPct), said(temperatureC)];
      shown.push({ ...one, leastPct: least(pct), mostPct: most(pct), leastC: least(c), mostC: most(c) });
    }
    return { sensorId, urn, stretches: shown };
  }

  return {
    sensorDoubts: async ({ params }) => page(params.id, await urnOf(params.id)),
    async believeReadings({ params, body }) {
      const urn = await urnOf(params.id);
      const changedFromMs = await believe(db, viewer, params.id, body);
      if (changedFromMs !== null) {
        await amendments.reload();
        const affected = await hearersOf(db, viewer, new Set([params.id]));
        await watch.reconsider(
          viewer,
          affected.map((one) => one.id),
          changedFromMs,
        );
      }
      return page(params.id, urn);
    },
  };
}
