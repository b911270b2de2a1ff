/** A stage for stories whose watch writes to people: to a real mail server, by the clock that the story moves. */
import { emailCourier } from '../../server/watch/notify/email.ts';
import { type Messenger, startMessenger } from '../../server/watch/notify/messenger.ts';
import { type MailBox, openMailBox } from './mail-box.ts';
import { openStage, type Stage } from './watch-stage.ts';

export interface ToldStage extends Stage {
  readonly box: MailBox;
  /** The mails whose address holds these letters. */
  mailsTo(address: string): MailBox['mails'];
}

export async function openToldStage(startMs: number): Promise<ToldStage> {
  const box = await openMailBox();
  let messenger: Messenger | null = null;
  const stage = await openStage(startMs, () => ({
    afterLook: async (viewer, nowMs) => {
      await messenger?.afterLook(viewer, nowMs);
      await messenger?.deliver();
    },
  }));
  messenger = await startMessenger({
    db: stage.stores.db,
    publicUrl: 'https://pianos.example',
    couriers: [emailCourier({ url: box.url, from: 'crownwatch@workshop.example' })],
    publisher: null,
    now: () => stage.nowMs,
    log: {
      error(fields, message) {
        throw new Error(message, { cause: fields });
      },
    },
  });
  const stop = stage.stop;
  // The same object: its clock is what the story moves.
  return Object.assign(stage, {
    box,
    mailsTo: (address: string) => box.mails.filter((mail) => JSON.stringify(mail.to).includes(address)),
    async stop() {
      await messenger?.stop();
      await stop();
      await box.stop();
    },
  });
}
