/** Says what is to be said after each look of the watch, and carries it out in its own time: a slow mail server holds nobody. */
import type { Database } from '../../db/database.ts';
import type { Viewer } from '../../registry/viewer.ts';
import { type Courier, deliver, takeUpCutOff } from './deliver.ts';
import type { NoticePublisher } from './mqtt.ts';
import { tell } from './tell.ts';

export interface MessengerDeps {
  readonly db: Database;
  readonly publicUrl: string | null;
  readonly couriers: readonly Courier[];
  readonly publisher: NoticePublisher | null;
  readonly now: () => number;
  readonly log: { error(fields: object, message: string): void };
}

export interface Messenger {
  /** Plans and writes; part of the watch's look. */
  afterLook(viewer: Viewer, nowMs: number): Promise<void>;
  /** Delivers what is due; resolves when that was tried. One at a time. */
  deliver(): Promise<number>;
  stop(): Promise<void>;
}

export async function startMessenger(deps: MessengerDeps): Promise<Messenger> {
  const { db, couriers, publisher, now, log } = deps;
  await takeUpCutOff(db, now());
  let under: Promise<number> | null = null;
  const deliverNow = (): Promise<number> => {
    under ??= deliver(db, couriers, now).finally(() => {
      under = null;
    });
    return under;
  };
  return {
    async afterLook(viewer, nowMs) {
      await tell(deps, viewer, nowMs);
      if (publisher) {
        await publisher
          .publish(db, viewer)
          .catch((error: unknown) => log.error({ err: error }, 'notices could not be published'));
      }
      deliverNow().catch((error: unknown) =>
        log.error({ err: error }, 'messages could not be delivered; they wait'),
      );
    },
    deliver: deliverNow,
    async stop() {
      await under?.catch(() => undefined);
      for (const courier of couriers) await courier.stop();
      await publisher?.stop();
    },
  };
}
