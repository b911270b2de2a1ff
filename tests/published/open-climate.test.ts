/**
 * Twenty months of two real houses through every function of the climate.
 * Source: TRH-database, hourly indoor climate of detached houses in Finland 2010-2012, CC BY 4.0; outdoor data: Finnish
 * Meteorological Institute open data, CC BY 4.0. The files stay outside the project; where they are absent this is skipped.
 */
import { existsSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { parse } from 'csv-parse/sync';
import { describe, expect, test } from 'vitest';
import {
  type Air,
  absoluteHumidityGm3,
  actionPart,
  advanceReference,
  advanceSlab,
  boardStressClass,
  bridgeBodyPart,
  bridgeCapPart,
  casePart,
  createSlab,
  dewPointC,
  equilibriumMoisturePct,
  frostPointC,
  historicBand,
  humidityAtTemperaturePct,
  humidityRatioKgKg,
  indoorForecastPct,
  keyPart,
  limitsAt,
  moistureLoadKgH,
  mouldIndex,
  pinblockPart,
  REGISTERS,
  runningMean,
  rustHours,
  shareInBand,
  soundboardPart,
  sweatMarginK,
  swing,
  temperatureEffectCents,
  waterOver,
  windowsDryUpToPct,
} from '../../server/science/index.ts';

const folder = path.resolve(import.meta.dirname, '../../../shared/datasets/indoor-climate-fi');
const absent = !existsSync(folder);
if (absent) console.warn('open-climate: the open data set is absent; its checks are skipped');

/** Hourly air on an unbroken grid: hours that the file lacks are null. Times are UTC+2 all year. */
function hoursOf(file: string, temperature: string, humidity: string): Air[] {
  const rows: Record<string, string>[] = parse(readFileSync(path.join(folder, file)), { columns: true });
  const at = (row: Record<string, string> | undefined) =>
    Math.round(Date.parse(`${row?.['t_UTC+2']?.replace(' ', 'T')}Z`) / 3_600_000);
  const first = at(rows[0]);
  const hours = new Array<Air>(at(rows.at(-1)) - first + 1).fill({ temperatureC: null, humidityPct: null });
  const number = (text: string | undefined) => (text === undefined || text === '' ? null : Number(text));
  for (const row of rows) {
    const value = { temperatureC: number(row[temperature]), humidityPct: number(row[humidity]) };
    if (Number.isNaN(value.temperatureC) || Number.isNaN(value.humidityPct)) continue;
    hours[at(row) - first] = value;
  }
  return hours;
}

const bad = (values: readonly (number | null)[] | Float64Array) =>
  Array.from(values).filter((value) => value !== null && !Number.isFinite(value)).length;

describe.skipIf(absent).each(['house3', 'house4'])('%s, twenty months', (house) => {
  const indoor = absent ? [] : hoursOf(`${house}-indoor1.csv`, 'T', 'RH');
  const outdoor = absent ? [] : hoursOf(`${house}-outdoor.csv`, 'Te', 'RHe');
  const humidity = indoor.map(({ humidityPct }) => humidityPct);

  test('is there: over 14,000 hours, nearly all measured', () => {
    expect(indoor.length).toBeGreaterThan(14_000);
    expect(humidity.filter((one) => one !== null).length / humidity.length).toBeGreaterThan(0.98);
  });

  test('air, indoors and out', () => {
    for (const series of [indoor, outdoor]) {
      for (const of of [
        dewPointC,
        frostPointC,
        absoluteHumidityGm3,
        equilibriumMoisturePct,
        humidityRatioKgKg,
      ]) {
        expect(bad(series.map(({ temperatureC, humidityPct }) => of(temperatureC, humidityPct)))).toBe(0);
      }
      expect(bad(series.map((one) => humidityAtTemperaturePct(one.temperatureC, one.humidityPct, 21)))).toBe(
        0,
      );
    }
  });

  test('every part, and the board with its classes', () => {
    const start = equilibriumMoisturePct(20, 40);
    const boards = (['bare', 'shellac', 'lacquer', 'varnish', 'polyurethane'] as const).map((finish) =>
      soundboardPart({ thicknessMm: 8, finish, species: 'spruce-sitka' }),
    );
    const others = [bridgeCapPart(), bridgeBodyPart(), pinblockPart(), keyPart(), actionPart(), casePart()];
    for (const part of [...boards, ...others]) {
      const means = new Float64Array(indoor.length);
      const slab = advanceSlab(createSlab(part, start), indoor, { means });
      expect(bad(means) + bad(slab.profilePct)).toBe(0);
      let referencePct = start;
      const classes = Array.from(means, (moisturePct) => {
        referencePct = advanceReference(referencePct, moisturePct, 1);
        return boardStressClass({
          species: 'spruce-sitka',
          moisturePct,
          referencePct,
          construction: 'solid',
          findings: [],
        });
      });
      expect(classes.every(({ class: of, ratio }) => of !== null && Number.isFinite(ratio))).toBe(true);
    }
  });

  test('the historic band in two ways: the library, and a plain loop', () => {
    const band = historicBand(humidity);
    expect(band).not.toBeNull();
    if (band === null) return;
    const departures: number[] = [];
    for (let i = 360; i < humidity.length - 360; i += 1) {
      let sum = 0;
      let count = 0;
      for (let j = i - 360; j <= i + 360; j += 1) {
        const value = humidity[j] ?? null;
        if (value === null) continue;
        sum += value;
        count += 1;
      }
      const value = humidity[i] ?? null;
      if (value !== null && count >= 361) departures.push(value - sum / count);
    }
    departures.sort((a, b) => a - b);
    const percentile = (share: number) => {
      const at = share * (departures.length - 1);
      const [low = Number.NaN, high = Number.NaN] = departures.slice(Math.floor(at), Math.floor(at) + 2);
      return low + (at - Math.floor(at)) * (high - low);
    };
    expect(band.foundLowPct).toBeCloseTo(percentile(0.07), 8);
    expect(band.foundHighPct).toBeCloseTo(percentile(0.93), 8);
    expect(bad(band.seasonPct)).toBe(0);
    expect(bad(humidity.flatMap((_, hour) => Object.values(limitsAt(band, hour) ?? {})))).toBe(0);
  });

  test('swings, shares, rust, mould and sweat', () => {
    expect(bad(swing(humidity, 24)) + bad(swing(humidity, 168))).toBe(0);
    expect(bad(runningMean(humidity, 72, { place: 'trailing' }))).toBe(0);
    expect(bad(rustHours(humidity))).toBe(0);
    expect(shareInBand(humidity, 0, 100)).toBe(1);
    for (const series of [indoor, outdoor]) {
      expect(bad(mouldIndex(series))).toBe(0);
      expect(bad(sweatMarginK(series))).toBe(0);
    }
  });

  test('temperature on pitch', () => {
    for (const register of REGISTERS) {
      const effects = indoor.map(({ temperatureC }) =>
        temperatureEffectCents(register, { stringC: temperatureC, plateC: 21, referenceC: 21 }),
      );
      expect(
        bad(effects.map((one) => one?.fastCents ?? null)) + bad(effects.map((one) => one?.slowCents ?? null)),
      ).toBe(0);
    }
  });

  test('the room under its weather', () => {
    const room = { volumeM3: 250, airChangesPerH: 0.5, people: 2 };
    const wanted = { temperatureC: 21, humidityPct: 42 };
    expect(bad(outdoor.map((hour) => moistureLoadKgH(room, hour, wanted)))).toBe(0);
    expect(bad(indoorForecastPct(room, outdoor, 21))).toBe(0);
    expect(bad(outdoor.map(({ temperatureC }) => windowsDryUpToPct(21, temperatureC)))).toBe(0);
    const { addLitres, takeLitres } = waterOver(room, outdoor, { temperatureC: 21, lowPct: 38, highPct: 58 });
    expect(addLitres).toBeGreaterThan(0);
    expect(Number.isFinite(takeLitres)).toBe(true);
  });
});
