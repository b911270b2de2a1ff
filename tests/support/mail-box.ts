/** A real SMTP server that keeps what it is sent, and can be told to be away, to bounce or to hang up. */
import { type ParsedMail, simpleParser } from 'mailparser';
import { SMTPServer } from 'smtp-server';
import { listen } from './ports.ts';

export interface MailBox {
  readonly url: string;
  readonly mails: ParsedMail[];
  readonly raw: string[];
  /** "away": every recipient is put off; "bounces": refused for good. */
  mood: 'takes' | 'away' | 'bounces';
  /** Called in the midst of a sending, and waited for: before a recipient is judged, before a whole mail is answered. */
  before: { recipient?: () => unknown; answer?: () => unknown };
  /** Called when the answer to a whole mail is on its way. */
  after: { answer?: () => unknown };
  stop(): Promise<void>;
}

/** @param port 0: any that is free */
export async function openMailBox(port = 0): Promise<MailBox> {
  const box: MailBox = {
    url: '',
    mails: [],
    raw: [],
    mood: 'takes',
    before: {},
    after: {},
    stop: async () => undefined,
  };
  const server = new SMTPServer({
    disabledCommands: ['AUTH', 'STARTTLS'],
    logger: false,
    async onRcptTo(_address, _session, callback) {
      await box.before.recipient?.();
      if (box.mood === 'away')
        return callback(Object.assign(new Error('come again later'), { responseCode: 451 }));
      if (box.mood === 'bounces')
        return callback(Object.assign(new Error('no such user'), { responseCode: 550 }));
      callback();
    },
    onData(stream, _session, callback) {
      const chunks: Buffer[] = [];
      stream.on('data', (chunk: Buffer) => chunks.push(chunk));
      stream.on('end', async () => {
        const whole = Buffer.concat(chunks);
        box.raw.push(whole.toString());
        box.mails.push(await simpleParser(whole));
        await box.before.answer?.();
        callback();
        box.after.answer?.();
      });
    },
  });
  // Whoever hangs up in the midst is no fault of this side.
  server.on('error', () => undefined);
  const at = await listen(server.server, port);
  return Object.assign(box, {
    url: `smtp://127.0.0.1:${at}`,
    stop: () => new Promise<void>((resolve) => server.close(() => resolve())),
  });
}
