/** Sensors beyond where they stand: the decode bench, calibrations, readings in doubt, loggers' files. */
import { benchHandlers } from './bench.ts';
import { calibrationHandlers } from './calibrations.ts';
import { doubtHandlers } from './doubts.ts';
import type { AppDeps } from './handlers.ts';
import { loggerFileHandlers } from './logger-files.ts';

export const sensorHandlers = (deps: AppDeps) => ({
  ...benchHandlers(deps),
  ...calibrationHandlers(deps),
  ...doubtHandlers(deps),
  ...loggerFileHandlers(deps),
});
