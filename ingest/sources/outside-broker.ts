/** A broker elsewhere: where it is, who we are there, and what is asked of it. */
import type { IClientOptions } from 'mqtt';

export interface OutsideBroker {
  /** mqtt://host:1883 or mqtts://host:8883, without user and password. */
  readonly url: string;
  readonly user?: string | undefined;
  readonly password?: string | undefined;
  /** 5 or 3.1.1. */
  readonly protocolVersion: 4 | 5;
  /** The session's name: the same after every restart, and another for each worker. */
  readonly clientId: string;
  /** A filter such as readings/#. */
  readonly topic: string;
  /** Workers of one group share the messages among them: $share/{group}/{topic}. */
  readonly group?: string | undefined;
  /** Whose messages these are; absent: readings/{gateway} and below say it themselves. */
  readonly gateway?: string | undefined;
  /** Certificates and key as PEM. */
  readonly ca?: Buffer | undefined;
  readonly certificate?: Buffer | undefined;
  readonly key?: Buffer | undefined;
}

/** What every connection to it has in common. */
export function connectOptions(outside: OutsideBroker): IClientOptions {
  const { clientId, protocolVersion, user, password, ca, certificate, key } = outside;
  return {
    clientId,
    protocolVersion,
    resubscribe: false,
    keepalive: 60,
    ...(user === undefined ? {} : { username: user }),
    ...(password === undefined ? {} : { password }),
    ...(ca ? { ca } : {}),
    ...(certificate ? { cert: certificate } : {}),
    ...(key ? { key } : {}),
  };
}
