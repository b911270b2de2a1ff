/**
 * Ways into the embedded broker: plain TCP, TLS, and WebSocket (over TLS where there is a certificate). Each hands on a
 * stream of MQTT bytes. Whoever has not yet said who he is holds a place only until too many others wait for one.
 *
 * @source MQTT 3.1.1 section 6 (WebSocket: subprotocol "mqtt"; a packet may span frames, a frame may hold several)
 */
import { X509Certificate } from 'node:crypto';
import { createServer as createHttpServer, type RequestListener } from 'node:http';
import { createServer as createHttpsServer } from 'node:https';
import { createServer as createTcpServer, type Server, type Socket } from 'node:net';
import type { Duplex } from 'node:stream';
import { createServer as createTlsServer, type TlsOptions } from 'node:tls';
import { createWebSocketStream, WebSocketServer } from 'ws';
import type { Log } from '../log.ts';

/** PEM, as read from the files. */
export interface Certificates {
  readonly certificate: Buffer;
  readonly key: Buffer;
  /** Clients must show a certificate that one of these has signed; absent: a password is enough. */
  readonly clientAuthority?: Buffer | undefined;
}

export interface DoorPlace {
  readonly kind: 'plain' | 'tls' | 'websocket';
  readonly host: string;
  /** 0: any free port. */
  readonly port: number;
  /** A WebSocket without them is plain. */
  readonly certificates?: Certificates | undefined;
}

export interface Arrival {
  readonly stream: Duplex;
  readonly address: string;
  /** It has said who it is, and keeps its place. */
  admitted(): void;
}

export interface Door {
  readonly port: number;
  /** Listens no more; who is inside is the broker's to send away. */
  stop(): Promise<void>;
}

/** A port that cannot be had; says which of them. */
export class DoorFault extends Error {
  readonly kind: DoorPlace['kind'];
  constructor(kind: DoorPlace['kind'], sentence: string) {
    super(sentence);
    this.kind = kind;
  }
}

const mostConnections = 10_000;
/** Connections that have not said who they are; beyond, the one that has taken longest goes. */
const mostStrangers = 500;
const handshakeWithinMs = 10_000;
/** A frame is buffered whole before the packets in it are looked at: the largest packet and its header. */
const frameBytes = 1_000_005;
/** Of a stranger, who has no business with more than a CONNECT and what the system reads ahead. */
const strangerFrameBytes = 262_144;
const farewellWithinMs = 2_000;
const dayMs = 86_400_000;
const expiryToldMs = 14 * dayMs;

const tlsOptions = ({ certificate, key, clientAuthority }: Certificates): TlsOptions => ({
  cert: certificate,
  key,
  minVersion: 'TLSv1.2',
  handshakeTimeout: handshakeWithinMs,
  ...(clientAuthority ? { ca: clientAuthority, requestCert: true, rejectUnauthorized: true } : {}),
});

/** A certificate that runs out keeps every gateway out at once, so it is told before; now, and once a day. */
function watchExpiry({ certificate }: Certificates, log: Log): NodeJS.Timeout {
  const expires = new X509Certificate(certificate).validTo;
  const look = (): void => {
    if (Date.parse(expires) - Date.now() > expiryToldMs) return;
    log.warn({ expires }, 'the certificate of the MQTT ports runs out: renew it, and restart the service');
  };
  look();
  return setInterval(look, dayMs).unref();
}

const mqttOnly: RequestListener = (_request, answer) => {
  answer.writeHead(426, { 'content-type': 'text/plain', upgrade: 'websocket', connection: 'close' });
  answer.end('MQTT over WebSocket is spoken here, with the subprotocol mqtt.\n');
};

/** @throws DoorFault with one sentence when the port cannot be had */
export async function openDoor(
  { kind, host, port, certificates }: DoorPlace,
  onArrival: (arrival: Arrival) => void,
  log: Log,
): Promise<Door> {
  /** In the order they came, by address and port of the other side, which an encrypted connection shares with the one below it. */
  const strangers = new Map<string, Socket>();
  const nameOf = ({ remoteAddress, remotePort }: Socket): string => `${remoteAddress} ${remotePort}`;

  function knocks(socket: Socket): void {
    const name = nameOf(socket);
    strangers.set(name, socket);
    socket.once('close', () => strangers.delete(name));
    // An encrypted one may break before anybody else listens.
    socket.on('error', () => {});
    if (strangers.size <= mostStrangers) return;
    for (const [longest, waiting] of strangers) {
      strangers.delete(longest);
      waiting.destroy();
      break;
    }
  }

  function enters(socket: Socket, stream: Duplex, admitted: () => void = () => {}): void {
    try {
      const name = nameOf(socket);
      socket.setNoDelay(true);
      socket.setKeepAlive(true, 60_000);
      onArrival({
        stream,
        address: socket.remoteAddress ?? 'unknown',
        admitted() {
          strangers.delete(name);
          admitted();
        },
      });
    } catch (error) {
      log.error({ err: error }, 'a connection could not be taken');
      stream.destroy();
    }
  }

  function listener(): Server {
    if (kind === 'plain') return createTcpServer((socket) => enters(socket, socket));
    if (kind === 'tls') {
      if (!certificates) throw new Error('TLS needs a certificate');
      return createTlsServer(tlsOptions(certificates), (socket) => enters(socket, socket));
    }
    return certificates
      ? withWebSocket(createHttpsServer(tlsOptions(certificates), mqttOnly))
      : withWebSocket(createHttpServer(mqttOnly));
  }

  function withWebSocket<Kind extends Server>(server: Kind): Kind {
    const options = {
      noServer: true,
      clientTracking: false,
      maxPayload: frameBytes,
      closeTimeout: farewellWithinMs,
      handleProtocols: (offered: Set<string>) => (offered.has('mqtt') ? 'mqtt' : false),
    };
    const sockets = new WebSocketServer(options);
    server.on('upgrade', (request, socket: Socket, head: Buffer) => {
      socket.on('error', () => socket.destroy());
      sockets.handleUpgrade(request, socket, head, (webSocket) => {
        if (webSocket.protocol !== 'mqtt') return webSocket.close(1002, 'the subprotocol is mqtt');
        const bound = (): void => {
          if (socket.bytesRead > strangerFrameBytes) socket.destroy();
        };
        socket.on('data', bound);
        enters(socket, createWebSocketStream(webSocket), () => socket.off('data', bound));
      });
    });
    return server;
  }

  const server = listener();
  server.maxConnections = mostConnections;
  server.on('connection', knocks);
  server.on('tlsClientError', (error: Error) =>
    log.debug({ err: error }, 'a connection could not be encrypted'),
  );
  const bound = await listenOn(server, host, port).catch((error: NodeJS.ErrnoException) => {
    throw new DoorFault(kind, portSentence(host, port, error));
  });
  server.on('error', (error) => log.error({ err: error, kind }, 'an MQTT port has a fault'));
  const expiry = certificates ? watchExpiry(certificates, log) : undefined;
  return {
    port: bound,
    stop() {
      clearInterval(expiry);
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      for (const socket of strangers.values()) socket.destroy();
      return closed;
    },
  };
}

/** The port it got. */
function listenOn(server: Server, host: string, port: number): Promise<number> {
  return new Promise((resolve, reject) => {
    server.once('error', reject);
    server.listen(port, host, () => {
      const address = server.address();
      resolve(address !== null && typeof address === 'object' ? address.port : port);
    });
  });
}

function portSentence(host: string, port: number, error: NodeJS.ErrnoException): string {
  if (error.code === 'EADDRINUSE') return `The MQTT port ${port} on ${host} is in use by another program.`;
  if (error.code === 'EACCES') return `The MQTT port ${port} on ${host} may not be opened by this user.`;
  return `The MQTT port ${port} on ${host} cannot be opened: ${error.message}.`;
}
