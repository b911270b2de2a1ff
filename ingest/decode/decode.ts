/** What a message says, read the way its gateway writes. Pure; never throws, whatever the payload. */
import type { Gateway } from '../gateways.ts';
import { type Precision, readLineProtocol } from './line-protocol.ts';
import { decodeMapped, decodeMappedJson, type Trace } from './mapped.ts';
import { type Decoded, decodePack, type Origin } from './pack.ts';
import { decodePlainValue } from './plain-value.ts';
import type { MappedProfile } from './profile.ts';

export interface Sent {
  readonly topic: string;
  readonly payload: Uint8Array;
  /** Set where the way it came by says that it is line protocol. */
  readonly lines?: Precision | undefined;
}

/** Line protocol of a gateway without a mapping of its own: the usual names. */
const usualLines: MappedProfile = {
  kind: 'mapped',
  sensor: '/tags/sensor',
  time: { at: '/timeMs', as: 'ms' },
  values: [
    { at: '/fields/humidity', quantity: 'humidityPct' },
    { at: '/fields/temperature', quantity: 'temperatureC' },
    { at: '/fields/battery', quantity: 'batteryPct' },
  ],
};

function decodeLines(
  { payload }: Sent,
  precision: Precision,
  profile: MappedProfile,
  origin: Origin,
  trace: Trace | undefined,
): Decoded {
  const { points, faults } = readLineProtocol(payload, precision);
  const timed = points.map((point) => ({ timeMs: origin.nowMs, ...point }));
  const decoded: Decoded =
    timed.length > 0
      ? decodeMapped(timed, profile, origin, trace)
      : { readings: [], refused: [], skipped: 0 };
  const unread = faults.map(({ line, sentence }) => ({
    reason: 'not-line-protocol' as const,
    sentence: `Line ${line}: ${sentence}.`,
  }));
  return { ...decoded, refused: [...unread, ...decoded.refused] };
}

/** @param trace told of every place of a mapped payload that is looked at */
export function decode(
  sent: Sent,
  { profile }: Pick<Gateway, 'profile'>,
  origin: Origin,
  trace?: Trace,
): Decoded {
  if (sent.lines) {
    return decodeLines(sent, sent.lines, profile?.kind === 'mapped' ? profile : usualLines, origin, trace);
  }
  if (profile?.kind === 'mapped') return decodeMappedJson(sent.payload, profile, origin, trace);
  if (profile?.kind === 'plain-value')
    return decodePlainValue(sent.payload, sent.topic, { profile, origin }, trace);
  return decodePack(sent.payload, origin);
}
