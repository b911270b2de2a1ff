/** Loggers' files brought in by the browser. Each part is short and stored before it is answered; twice stores nothing twice. */
import {
  type CsvShape,
  guessShape,
  isSensorName,
  type ReadPart,
  readCsvPart,
  titlesIn,
} from '../../ingest/index.ts';
import type { LoggerShape } from '../contract/index.ts';
import type { AppDeps, Handlers } from './handlers.ts';
import { BadRequest } from './problem.ts';

type FileRoutes = 'previewLoggerFile' | 'takeLoggerPart';

const shownRows = 8;
const previewSensor = 'preview';

export function loggerFileHandlers({ pipeline, viewer, now }: AppDeps): Pick<Handlers, FileRoutes> {
  const organisation = viewer.organisationId;

  /** @throws BadRequest where the zone is not known or no column is chosen */
  function read(part: {
    readonly text: string;
    readonly firstLine: number;
    readonly beforeMs: number | null;
    readonly shape: LoggerShape;
    readonly sensor: string;
  }): ReadPart {
    const shape: CsvShape = part.shape;
    if (shape.humidity === null && shape.temperature === null) {
      const sentence = 'shape.humidity: say which column holds the humidity, or the temperature';
      throw new BadRequest([{ field: 'shape.humidity', sentence }]);
    }
    try {
      return readCsvPart({ ...part, shape, organisation }, now());
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      throw new BadRequest([{ field: 'shape.timeZone', sentence: `shape.timeZone: ${why}` }]);
    }
  }

  return {
    async previewLoggerFile({ body }) {
      const {
        titles: _,
        sureOfDates,
        ...guessed
      } = guessShape(body.text, body.shape?.delimiter ?? body.delimiter);
      const shape = body.shape ?? { ...guessed, timeZone: body.timeZone };
      const unchosen = shape.humidity === null && shape.temperature === null;
      const { readings, refused } = unchosen
        ? { readings: [], refused: [] }
        : read({ text: body.text, firstLine: 1, beforeMs: null, shape, sensor: previewSensor });
      return {
        shape,
        titles: titlesIn(body.text, shape),
        sureOfDates,
        rows: readings.slice(0, shownRows).map(({ timeMs, humidityPct = null, temperatureC = null }) => ({
          timeMs,
          humidityPct,
          temperatureC,
        })),
        refused: refused.slice(0, shownRows).map((one) => ({ ...one })),
      };
    },
    async takeLoggerPart({ body }) {
      if (!isSensorName(body.sensor)) {
        const sentence =
          'sensor: letters, digits and - : . / _ make a name, with a letter or a digit in front';
        throw new BadRequest([{ field: 'sensor', sentence }]);
      }
      const { rows, readings, refused, lastMs, skippedHours } = read(body);
      if (body.onlyLook) {
        const none = { stored: 0, duplicates: 0, conflicts: 0 };
        return { rows, ...none, refused: [...refused], lastMs, skippedHours };
      }
      const outcome = await pipeline.acceptReadings(readings, now());
      const { stored, duplicates, conflicts } = outcome;
      const kept = outcome.refused.map(({ sentence, records }) => ({
        line: null,
        sentence: records === 1 ? sentence : `${sentence} ${records - 1} more of this kind.`,
      }));
      return { rows, stored, duplicates, conflicts, refused: [...refused, ...kept], lastMs, skippedHours };
    },
  };
}
