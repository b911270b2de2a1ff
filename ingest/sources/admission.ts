/** Who is let in: MQTT 3.1.1, the right password, one pause longer for each time it had to be dropped. */
import { setTimeout as pause } from 'node:timers/promises';
import type { AedesOptions, AuthenticateError, Client } from 'aedes';
import type { Gateways } from '../gateways.ts';
import type { Log } from '../log.ts';
import { printable, type Sessions } from './sessions.ts';

/** CONNACK return codes, MQTT 3.1.1 table 3.1. */
const serverUnavailable = 3;
const badUserOrPassword = 4;

type Hooks = Required<Pick<AedesOptions, 'preConnect' | 'authenticate'>>;

export interface AdmissionParts {
  readonly sessions: Sessions;
  readonly gateways: Pick<Gateways, 'byPassword'>;
  readonly log: Log;
  /** Called after the client was accepted. */
  readonly onAdmitted: (client: Client) => void;
  /** For what should never happen: the connection goes, the process stays. */
  readonly lose: (client: Client, error: unknown) => void;
}

export function createAdmission({ sessions, gateways, log, onAdmitted, lose }: AdmissionParts): Hooks {
  /** true, or the return code to refuse with. */
  async function admit(client: Client, user?: string, password?: Buffer): Promise<true | number> {
    const session = sessions.of(client);
    if (!session) return serverUnavailable;
    const waitMs = sessions.waitMs(session);
    if (waitMs === null) return serverUnavailable;
    if (waitMs > 0) await pause(waitMs, undefined, { ref: false });
    if (client.closed) return serverUnavailable;
    const gateway = user && password ? await gateways.byPassword(user, password.toString('utf8')) : null;
    if (!gateway) {
      const sentence = `The user name ${printable(user ?? '')} or its password is wrong.`;
      sessions.note(session, 'wrong-password', sentence);
      return badUserOrPassword;
    }
    session.gateway = gateway;
    session.admittedMs = performance.now();
    // Before the broker sends away whoever bears the same client id.
    sessions.enter(client, session);
    return true;
  }

  return {
    preConnect(client, packet, done) {
      const session = sessions.of(client);
      if (!session) return done(new Error('a connection without a session'), false);
      session.user = packet.username ?? '';
      if (packet.will) {
        delete packet.will;
        sessions.note(session, 'will', 'A last will is not kept; the connection goes on without it.');
      }
      if (packet.protocolVersion !== 4) {
        const version = packet.protocolVersion === 3 ? '3.1' : String(packet.protocolVersion);
        const sentence = `MQTT ${version} is not spoken here; set the client to MQTT 3.1.1.`;
        sessions.note(session, 'other-protocol', sentence);
        // aedes would take 3.1; it answers "unacceptable protocol version" to 5.
        packet.protocolVersion = 5;
      }
      // One gateway cannot take over another's connection by choosing its client id.
      if (packet.clientId) packet.clientId = `${session.user}/${packet.clientId}`;
      done(null, true);
    },

    authenticate(client, user, password, done) {
      const refuse = (returnCode: number, message: string): void =>
        done(Object.assign(new Error(message), { returnCode }) as AuthenticateError, false);
      admit(client, user, password)
        .then(
          (answer) => {
            if (answer !== true) return refuse(answer, 'not admitted');
            done(null, true);
            onAdmitted(client);
          },
          (error) => {
            log.error({ err: error }, 'a gateway could not be looked up');
            refuse(serverUnavailable, 'the gateways cannot be looked up now');
          },
        )
        .catch((error) => lose(client, error));
    },
  };
}
