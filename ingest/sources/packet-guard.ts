/**
 * Stands between a connection and the broker and reads only the fixed header of each MQTT packet: a packet that is too
 * large is cut before a byte of it is buffered. Before the client is admitted only a small CONNECT passes, and what
 * follows it waits in the kernel's buffers, so strangers cost next to nothing.
 *
 * @source MQTT 3.1.1 section 2.2 (fixed header; remaining length of one to four bytes, least significant seven bits first)
 */
import { Duplex } from 'node:stream';

export interface GuardLimits {
  /** Remaining length, in bytes, of a packet from an admitted client. */
  readonly packetBytes: number;
  readonly connectBytes: number;
}

export type Cut = 'too-large' | 'not-mqtt';

const connectType = 1;

export class PacketGuard extends Duplex {
  readonly #socket: Duplex;
  readonly #limits: GuardLimits;
  readonly #onCut: (cut: Cut, bytes: number) => void;
  /** Bytes of the packet at hand that are still to come. */
  #bodyLeft = 0;
  /** Header bytes seen of the next packet: 0 is its first byte. */
  #headerAt = 0;
  #length = 0;
  #connectSeen = false;
  #admitted = false;
  /** What came after CONNECT while the client is not admitted. */
  #held: Buffer | undefined;

  /** @param onCut is called once, before the connection is torn down. */
  constructor(socket: Duplex, limits: GuardLimits, onCut: (cut: Cut, bytes: number) => void) {
    super({ readableHighWaterMark: 65_536, allowHalfOpen: false });
    this.#socket = socket;
    this.#limits = limits;
    this.#onCut = onCut;
    socket.on('data', (chunk: Buffer) => this.#take(chunk));
    socket.on('end', () => this.push(null));
    socket.on('error', (error) => this.destroy(error));
    socket.on('close', () => this.destroy());
  }

  /** Lets packets through, up to the full size. */
  admit(): void {
    this.#admitted = true;
    const held = this.#held;
    this.#held = undefined;
    if (held) this.#take(held);
    else if (!this.destroyed) this.#socket.resume();
  }

  /** Ends it now, whether or not the other side reads what is still to be sent. */
  cutOff(): void {
    this.#socket.destroy();
    this.destroy();
  }

  #take(chunk: Buffer): void {
    if (this.destroyed) return;
    const passed = this.#scan(chunk);
    if (passed === null) return;
    if (passed < chunk.length) {
      this.#held = chunk.subarray(passed);
      this.#socket.pause();
    }
    if (passed === 0) return;
    if (!this.push(chunk.subarray(0, passed))) this.#socket.pause();
    else if (!this.#held) this.#socket.resume();
  }

  /** How many bytes may pass now; null when the connection was cut. */
  #scan(chunk: Buffer): number | null {
    let at = 0;
    while (at < chunk.length) {
      if (this.#bodyLeft > 0) {
        const step = Math.min(this.#bodyLeft, chunk.length - at);
        this.#bodyLeft -= step;
        at += step;
        continue;
      }
      const byte = chunk[at] ?? 0;
      if (this.#headerAt === 0) {
        if (this.#connectSeen && !this.#admitted) return at;
        if (!this.#connectSeen && byte >> 4 !== connectType) return this.#cut('not-mqtt', 0);
        this.#connectSeen = true;
        this.#length = 0;
      } else {
        this.#length += (byte & 0x7f) * 128 ** (this.#headerAt - 1);
      }
      at += 1;
      if (this.#headerAt > 0 && byte < 0x80) {
        const most = this.#admitted ? this.#limits.packetBytes : this.#limits.connectBytes;
        if (this.#length > most) return this.#cut('too-large', this.#length);
        this.#bodyLeft = this.#length;
        this.#headerAt = 0;
      } else if (this.#headerAt === 4) {
        return this.#cut('not-mqtt', 0);
      } else {
        this.#headerAt += 1;
      }
    }
    return at;
  }

  #cut(cut: Cut, bytes: number): null {
    this.#socket.removeAllListeners('data');
    this.#onCut(cut, bytes);
    this.cutOff();
    return null;
  }

  override _read(): void {
    if (!this.#held) this.#socket.resume();
  }

  override _write(chunk: Buffer, _encoding: BufferEncoding, done: (error?: Error | null) => void): void {
    if (this.#socket.destroyed) done(new Error('the connection is closed'));
    else this.#socket.write(chunk, done);
  }

  /** A packet is written in pieces of a byte or two, and many packets at once: they leave together. */
  override _writev(
    pieces: readonly { readonly chunk: Buffer }[],
    done: (error?: Error | null) => void,
  ): void {
    this._write(Buffer.concat(pieces.map(({ chunk }) => chunk)), 'utf8', done);
  }

  override _final(done: () => void): void {
    this.#socket.end(done);
  }

  /** What was written (a CONNACK that says why) still goes out before the socket closes. */
  override _destroy(_error: Error | null, done: (error?: Error | null) => void): void {
    this.#held = undefined;
    const socket = this.#socket;
    if (!socket.destroyed) socket.end(() => socket.destroy());
    // The reason was told to `onCut` or belongs to the network; an error event here would have no one to hear it.
    done();
  }
}
