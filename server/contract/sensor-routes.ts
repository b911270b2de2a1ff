/** Routes about sensors beyond where they stand: how payloads are read, what was set aside, calibrations, loggers' files. */
import * as z from 'zod/mini';
import { benchOutcome, benchTrial, gatewayNow, gatewayProfile, replayed, setAsideMessage } from './bench.ts';

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
} as const;
