/** MQTT_TLS_…, MQTT_WEBSOCKET_PORT: more ways into the embedded broker, read from environment variables. */
import { readFileSync } from 'node:fs';
import { createSecureContext } from 'node:tls';
import type { Doors } from './sources/broker.ts';

type Environment = Readonly<Record<string, string | undefined>>;
export interface DoorSettings {
  /** null: the plain port alone, or faulty. */
  readonly doors: Doors | null;
  /** Each begins with the variable's name; none repeats a value. */
  readonly faults: readonly string[];
}

/** An empty text is how a compose file says "not set". */
export function readDoorSettings(env: Environment): DoorSettings {
  const faults: string[] = [];
  const port = (name: string): number | null => {
    const text = env[name];
    if (!text) return null;
    if (/^\d{1,5}$/.test(text) && Number(text) <= 65_535) return Number(text);
    faults.push(`${name}: must be 0 to 65535`);
    return null;
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
  const tlsPort = port('MQTT_TLS_PORT');
  const websocketPort = port('MQTT_WEBSOCKET_PORT');
  const certificate = file('MQTT_CERTIFICATE_FILE');
  const key = file('MQTT_KEY_FILE');
  const clientAuthority = file('MQTT_CLIENT_CA_FILE');
  if (faults.length > 0) return { doors: null, faults };

  if ((certificate === undefined) !== (key === undefined)) {
    faults.push('MQTT_CERTIFICATE_FILE and MQTT_KEY_FILE: set both, or none');
  } else if (!certificate && tlsPort !== null) {
    faults.push('MQTT_TLS_PORT: needs MQTT_CERTIFICATE_FILE and MQTT_KEY_FILE');
  }
  if (clientAuthority && !certificate) {
    faults.push('MQTT_CLIENT_CA_FILE: needs MQTT_CERTIFICATE_FILE and MQTT_KEY_FILE');
  }
  if (certificate && key) {
    try {
      createSecureContext({ cert: certificate, key });
    } catch {
      // What the library says may quote the file.
      faults.push('MQTT_CERTIFICATE_FILE and MQTT_KEY_FILE: must be a PEM certificate and its own key');
    }
    if (tlsPort === null && websocketPort === null) {
      faults.push('MQTT_CERTIFICATE_FILE: serves nothing without MQTT_TLS_PORT or MQTT_WEBSOCKET_PORT');
    }
  }
  if (clientAuthority && !/-----BEGIN CERTIFICATE-----/.test(clientAuthority.toString('latin1'))) {
    faults.push('MQTT_CLIENT_CA_FILE: must hold PEM certificates');
  }
  if (faults.length > 0 || (tlsPort === null && websocketPort === null)) return { doors: null, faults };
  const certificates = certificate && key ? { certificate, key, clientAuthority } : null;
  return { doors: { host: env.MQTT_TLS_HOST || '0.0.0.0', certificates, tlsPort, websocketPort }, faults };
}
