/** A SenML JSON pack (RFC 8428) of what several sensors say; names of one sensor's quantities as in RFC 9039. */
import type { Reading } from '../ingest/index.ts';

type Said = Omit<Reading, 'organisation'>;

interface SenmlRecord {
  bn?: string;
  bt?: number;
  n: string;
  u: string;
  v: number;
}

const parts = [
  { quantity: 'humidityPct', n: '_humidity', u: '%RH' },
  { quantity: 'temperatureC', n: '_temperature', u: 'Cel' },
  { quantity: 'batteryPct', n: '_battery', u: '%EL' },
] as const;

export function pack(said: readonly Said[]): string {
  const records: SenmlRecord[] = [];
  for (const one of said) {
    let base: Pick<SenmlRecord, 'bn' | 'bt'> = { bn: one.sensor, bt: one.timeMs / 1000 };
    for (const { quantity, n, u } of parts) {
      const v = one[quantity];
      if (v === undefined) continue;
      // A base name or time stands until the next one.
      records.push({ ...base, n, u, v });
      base = {};
    }
  }
  return JSON.stringify(records);
}
