/** BROKER_…: the outside broker to collect from, read from environment variables by the service and by workers. */
import { readFileSync } from 'node:fs';
import type { OutsideBroker } from './sources/outside-broker.ts';
import { filterForm, shareForm } from './sources/subscription.ts';

type Environment = Readonly<Record<string, string | undefined>>;
export interface BrokerSettings {
  /** null: none is set, or it is faulty. */
  readonly broker: OutsideBroker | null;
  /** Each begins with the variable's name; none repeats a value. */
  readonly faults: readonly string[];
}

/** One level of a topic. */
const word = /^[^+#/\0]+$/;

/** An empty text is how a compose file says "not set". */
export function readBrokerSettings(env: Environment): BrokerSettings {
  const faults: string[] = [];
  const text = env.BROKER_URL;
  if (!text) return { broker: null, faults };
  if (!URL.canParse(text) || !/^mqtts?:$/.test(new URL(text).protocol)) {
    return {
      broker: null,
      faults: ['BROKER_URL: must be like mqtt://broker.example.org:1883 or mqtts://…:8883'],
    };
  }
  const url = new URL(text);
  const matching = (name: string, pattern: RegExp, must: string): string | undefined => {
    const value = env[name] || undefined;
    if (value !== undefined && !pattern.test(value)) faults.push(`${name}: ${must}`);
    return value;
  };
  const file = (name: string): Buffer | undefined => {
    const path = env[name];
    if (!path) return undefined;
    try {
      return readFileSync(path);
    } catch {
      faults.push(`${name}: the file cannot be read`);
      return undefined;
    }
  };
  const secret = (part: string, name: string): string | undefined => {
    try {
      return decodeURIComponent(part) || undefined;
    } catch {
      faults.push(`BROKER_URL: its ${name} has a % that begins no escape`);
      return undefined;
    }
  };
  const protocol = matching('BROKER_PROTOCOL', /^(?:5|3\.1\.1)$/, 'must be 5 or 3.1.1') ?? '5';
  const broker: OutsideBroker = {
    url: `${url.protocol}//${url.host}`,
    user: secret(url.username, 'user'),
    // A password of its own may hold any sign, and needs no escapes.
    password: env.BROKER_PASSWORD || secret(url.password, 'password'),
    protocolVersion: protocol === '5' ? 5 : 4,
    clientId:
      matching('BROKER_CLIENT_ID', /^[\x21-\x7e]{1,200}$/, 'must be letters, digits and signs') ??
      'crownwatch',
    topic: matching('BROKER_TOPIC', filterForm, 'must be a filter such as readings/#') ?? 'readings/#',
    group: matching('BROKER_GROUP', shareForm, 'must be one word without /, + and #'),
    gateway: matching('BROKER_GATEWAY', word, 'must be the name of a gateway'),
    ca: file('BROKER_CA_FILE'),
    certificate: file('BROKER_CERTIFICATE_FILE'),
    key: file('BROKER_KEY_FILE'),
  };
  if ((broker.certificate === undefined) !== (broker.key === undefined) && faults.length === 0) {
    faults.push('BROKER_CERTIFICATE_FILE and BROKER_KEY_FILE: set both, or none');
  }
  return { broker: faults.length === 0 ? broker : null, faults };
}
