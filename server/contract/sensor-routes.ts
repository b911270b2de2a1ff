/** Routes about sensors beyond where they stand: how payloads are read, what was set aside, calibrations, loggers' files. */
import * as z from 'zod/mini';
import { benchOutcome, benchTrial, gatewayNow, gatewayProfile, replayed, setAsideMessage } from './bench.ts';
import {
  calibration,
  calibrationBody,
  calibrationPage,
  saltAt,
  saltPoint,
  saltTrial,
} from './calibrations.ts';
import { beliefBody, doubtsPage } from './doubts.ts';
import { loggerPart, loggerPreview, partTaken, previewBody } from './logger-files.ts';
import { id } from './quantities.ts';
import { refusedSeen, refusedTally } from './registry.ts';

const byId = z.object({ id });
const gatewayName = z.object({ name: z.string().check(z.minLength(1), z.maxLength(64)) });

export const sensorRoutes = {
  gateways: {
    method: 'get',
    path: '/api/gateways',
    summary: 'All gateways, how their payloads are read, and how many of their messages are set aside',
    answer: z.array(gatewayNow),
    asks: 'person',
  },
  setAside: {
    method: 'get',
    path: '/api/set-aside',
    summary: 'The newest messages that were set aside, of one gateway or of all',
    query: z.object({
      gateway: z.optional(z.string().check(z.maxLength(64))),
      reason: z.optional(z.string().check(z.maxLength(40))),
    }),
    answer: z.array(setAsideMessage),
    asks: 'person',
  },
  tryProfile: {
    method: 'post',
    path: '/api/gateways/{name}/try',
    summary: 'What a profile would make of a message, place by place; nothing is stored',
    params: gatewayName,
    body: benchTrial,
    answer: benchOutcome,
    asks: 'person',
  },
  putProfile: {
    method: 'put',
    path: '/api/gateways/{name}/profile',
    summary: "Say how a gateway's payloads are read from now on",
    params: gatewayName,
    body: gatewayProfile,
    answer: gatewayProfile,
    asks: 'person',
  },
  replaySetAside: {
    method: 'post',
    path: '/api/gateways/{name}/replay',
    summary: 'Read what was set aside of a gateway once more, as it is read now. Twice stores nothing twice.',
    params: gatewayName,
    answer: replayed,
    asks: 'person',
  },
  seeRefused: {
    method: 'put',
    path: '/api/refused/seen',
    summary: 'Mark what was set aside as looked at, or not; what comes later is new again',
    body: refusedSeen,
    answer: refusedTally,
    asks: 'person',
  },
  sensorCalibrations: {
    method: 'get',
    path: '/api/sensors/{id}/calibrations',
    summary: 'Calibrations of a sensor, what it stood beside, and what it said last as it sent it',
    params: byId,
    answer: calibrationPage,
    asks: 'person',
  },
  saltJars: {
    method: 'get',
    path: '/api/salts',
    summary: 'Humidity over saturated salts at a temperature (15 to 30 °C)',
    query: z.object({
      temperatureC: z.pipe(
        z.string().check(z.regex(/^\d+(\.\d+)?$/, 'must be a number')),
        z.pipe(z.transform(Number), z.number().check(z.gte(15), z.lte(30))),
      ),
    }),
    answer: z.array(saltAt),
    asks: 'person',
  },
  trySaltPoints: {
    method: 'post',
    path: '/api/salts/try',
    summary: 'What salt points come to; nothing is kept',
    body: z.object({ points: z.array(saltPoint).check(z.minLength(2), z.maxLength(12)) }),
    answer: saltTrial,
    asks: 'person',
  },
  putCalibration: {
    method: 'put',
    path: '/api/sensors/{id}/calibrations/{entry}',
    summary:
      'Put a sensor right from a date on, or correct such an entry by a new one; raw readings stay as they are',
    params: z.object({ id, entry: id }),
    body: calibrationBody,
    answer: calibration,
    asks: 'person',
  },
  sensorDoubts: {
    method: 'get',
    path: '/api/sensors/{id}/doubts',
    summary:
      'Readings of a sensor that jumped and came back: kept, but left out of what is computed; newest first',
    params: byId,
    answer: doubtsPage,
    asks: 'person',
  },
  believeReadings: {
    method: 'put',
    path: '/api/sensors/{id}/doubts',
    summary:
      'Say that such readings are air after all and count, or that they do not; raw readings stay as they are',
    params: byId,
    body: beliefBody,
    answer: doubtsPage,
    asks: 'person',
  },
  previewLoggerFile: {
    method: 'post',
    path: '/api/logger-files/preview',
    summary: "How a logger's CSV file seems to be written, and its first rows as they would be stored",
    body: previewBody,
    answer: loggerPreview,
    asks: 'person',
  },
  takeLoggerPart: {
    method: 'post',
    path: '/api/logger-files/part',
    summary: "Store whole lines of a logger's file. The same again stores nothing twice.",
    body: loggerPart,
    answer: partTaken,
    asks: 'person',
  },
} as const;
