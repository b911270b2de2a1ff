/** Calibrations of sensors: what salt jars come to, what standing beside another showed, and keeping either by date. */
import type { CalibrationBody, SaltPoint, SaltTrial } from '../contract/index.ts';
import { calibrationsOf, type Line, putCalibration } from '../registry/calibrations.ts';
import { noteSensor, placements, sensorRows } from '../registry/sensors.ts';
import { NotFound } from '../registry/viewer.ts';
import { calibrationSdPct, SALTS, saltCalibration, saltHumidityPct } from '../science/calibration.ts';
import { besides, difference, timesTogether } from '../series/beside.ts';
import { hearersOf } from '../series/stands-at.ts';
import type { AppDeps, Handlers } from './handlers.ts';
import { BadRequest } from './problem.ts';

type CalibrationRoutes = 'sensorCalibrations' | 'saltJars' | 'trySaltPoints' | 'putCalibration';

const cautions = [
  'Salts: use food-grade sodium chloride or magnesium chloride where you can. Lithium chloride is poisonous, and every salt burns in eyes and wounds: wear gloves and glasses, label the jars, keep them from food, children and animals.',
  'Never let a sensor touch the slush or a wet wall: salt creeps, and ruins it. Take the battery out of a sensor that gets warm, and keep mains-powered sensors out of the jar.',
  'Keep jars and salts away from pianos: spilled salt rusts strings.',
];

function lineThrough(points: readonly SaltPoint[]) {
  try {
    return saltCalibration(points);
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new BadRequest([{ field: 'points', sentence: `points: ${error.message}` }]);
  }
}

function saltTrial(points: readonly SaltPoint[]): SaltTrial {
  const line = lineThrough(points);
  const { gain, offsetPct, fromPct, toPct } = line;
  const trials = points.map(({ salt, temperatureC, readingPct }) => {
    const { humidityPct, uncertaintyPct } = saltHumidityPct(salt, temperatureC);
    return { truePct: humidityPct, uncertaintyPct, residualPct: gain * readingPct + offsetPct - humidityPct };
  });
  const sent = (truePct: number) => (truePct - offsetPct) / gain;
  const doubtPct = 2 * calibrationSdPct(line, sent((fromPct + toPct) / 2));
  const sentences: string[] = [];
  if (points.length === 2) {
    sentences.push(
      'Two jars give a line and nothing to check it by: a third in between would show a mistake.',
    );
  } else if (line.worstResidualPct > 1) {
    sentences.push(
      `One point lies ${line.worstResidualPct.toFixed(1)} points off the line: a jar was not settled, or its salt was dissolved whole. Look at it again.`,
    );
  }
  if (gain < 0.8 || gain > 1.25) {
    sentences.push('The sensor is far from straight: see that the readings are at the right jars.');
  }
  if (fromPct > 40 || toPct < 60) {
    sentences.push(
      `Between ${fromPct.toFixed(0)} and ${toPct.toFixed(0)} % it is known; beyond, the line is a guess.`,
    );
  }
  return {
    gain,
    offsetPct,
    points: trials,
    fromPct,
    toPct,
    errorLowPct: sent(fromPct) - fromPct,
    errorHighPct: sent(toPct) - toPct,
    doubtPct,
    sentences,
  };
}

export function calibrationHandlers(deps: AppDeps): Pick<Handlers, CalibrationRoutes> {
  const { db, viewer, store, sent, amendments, watch, now } = deps;
  const stores = { sent, air: store };

  async function sensorWith(id: string) {
    const rows = await sensorRows(db, viewer);
    const row = rows.find((one) => one.id === id);
    if (!row) throw new NotFound('id', 'id: no such sensor');
    return { row, urnOf: (other: string) => rows.find((one) => one.id === other)?.urn };
  }

  async function lineOf(sensorId: string, body: CalibrationBody): Promise<Line> {
    if (body.kind === 'none') return { gain: 1, offsetPct: 0, offsetC: 0 };
    if (body.kind === 'stated') return body;
    if (body.kind === 'salt') return { ...lineThrough(body.points), offsetC: 0 };
    const { row, urnOf } = await sensorWith(sensorId);
    const otherUrn = urnOf(body.otherId);
    if (otherUrn === undefined) throw new NotFound('otherId', 'otherId: no such sensor');
    const window = { fromMs: body.besideFromMs, untilMs: body.besideUntilMs };
    const between = await difference(stores, viewer, row.urn, otherUrn, window);
    if (!between) {
      const sentence = 'besideFromMs: the two were not heard together for twenty hours in that time';
      throw new BadRequest([{ field: 'besideFromMs', sentence }]);
    }
    return { gain: 1, offsetPct: between.offsetPct, offsetC: between.offsetC };
  }

  /** What was said last is said again, put right. */
  async function renewLast(urn: string, lastMs: number | null): Promise<void> {
    if (lastMs === null) return;
    const id = { organisation: viewer.organisationId, sensor: urn };
    const { humidityPct, temperatureC } = await store.read(id, lastMs - 3_600_000, lastMs + 1);
    await noteSensor(db, viewer, {
      urn,
      firstMs: lastMs,
      lastMs,
      humidityPct: humidityPct.findLast((one) => one !== null) ?? null,
      temperatureC: temperatureC.findLast((one) => one !== null) ?? null,
      batteryPct: null,
      intervalMs: null,
    });
  }

  return {
    async sensorCalibrations({ params }) {
      const { row, urnOf } = await sensorWith(params.id);
      const id = { organisation: viewer.organisationId, sensor: row.urn };
      const lastMs = row.last_ms;
      const raw = lastMs === null ? null : await sent.read(id, lastMs - 3_600_000, lastMs + 1);
      const together = timesTogether(await placements(db, viewer), params.id, now());
      return {
        sensorId: row.id,
        urn: row.urn,
        sent:
          raw === null || lastMs === null
            ? null
            : {
                timeMs: lastMs,
                humidityPct: raw.humidityPct.findLast((one) => one !== null) ?? null,
                temperatureC: raw.temperatureC.findLast((one) => one !== null) ?? null,
              },
        calibrations: await calibrationsOf(db, viewer, params.id),
        beside: await besides(stores, viewer, urnOf, params.id, together),
        cautions,
      };
    },
    saltJars: async ({ query }) =>
      SALTS.map((salt) => ({ salt, ...saltHumidityPct(salt, query.temperatureC) })),
    trySaltPoints: async ({ body }) => saltTrial(body.points),
    async putCalibration({ params, body }) {
      const line = await lineOf(params.id, body);
      const given = { id: params.entry, sensorId: params.id, body, line };
      const changedFromMs = await putCalibration(db, viewer, given, now());
      await amendments.reload();
      const { row } = await sensorWith(params.id);
      await renewLast(row.urn, row.last_ms);
      const affected = await hearersOf(db, viewer, new Set([params.id]));
      await watch.reconsider(
        viewer,
        affected.map((one) => one.id),
        changedFromMs,
      );
      const kept = (await calibrationsOf(db, viewer, params.id)).find((one) => one.id === params.entry);
      if (!kept) throw new Error('a calibration that was kept is not there');
      return kept;
    },
  };
}
