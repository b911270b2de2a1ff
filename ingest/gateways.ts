/** Who may publish. ingest asks; the server's registry (or, for a worker that collects alone, HTTP) answers. */

import type { Profile } from './decode/profile.ts';

export interface Gateway {
  readonly id: string;
  readonly organisation: string;
  /** Its user name, and the topic it owns: readings/{name} and below. */
  readonly name: string;
  /** When its secrets were made; other secrets end the connections that came in by the old ones. */
  readonly secretsMs?: number | undefined;
  /** How its payloads are read; absent: SenML. */
  readonly profile?: Profile | undefined;
}

export interface Gateways {
  byPassword(name: string, password: string): Promise<Gateway | null>;
  byToken(token: string): Promise<Gateway | null>;
  /** For an outside broker, which has looked at passwords itself, and for connections that have lasted since. */
  byName(name: string): Promise<Gateway | null>;
}

/** What was set aside: kept whole, with the reason it could not be stored. */
export interface SetAside {
  readonly organisation: string | null;
  readonly gateway: string | null;
  readonly receivedMs: number;
  /** MQTT topic or HTTP path it came by. */
  readonly topic: string;
  /** A short fixed word, countable: 'unknown-unit', 'out-of-range'. */
  readonly reason: RefusalReason;
  /** The same for a person, naming the field. */
  readonly sentence: string;
  readonly payload: Uint8Array;
}

export const refusalReasons = [
  'not-json',
  'not-cbor',
  'not-senml',
  'not-line-protocol',
  'not-mapped',
  'unknown-unit',
  'no-value',
  'out-of-range',
  'time-too-old',
  'time-ahead',
  'beyond-retention',
  'other-topic',
  'too-large',
  'wrong-password',
  'subscribe',
  'will',
  'retain',
  'other-protocol',
  'unknown-gateway',
  'possible-gap',
  'shared-client-id',
] as const;
export type RefusalReason = (typeof refusalReasons)[number];

export interface Refused {
  /** Resolves when the batch is durable. */
  setAside(batch: readonly SetAside[]): Promise<void>;
}
