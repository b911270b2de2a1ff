/** The invented fleet before a browser, once something is learned of it. */
import { randomUUID } from 'node:crypto';
import { seedFolder } from '../../demo-data/seed.ts';
import type { InstrumentSummary, Learned, LookBackPage } from '../../server/contract/index.ts';
import { instrumentBody, tuning } from '../support/api.ts';
import { plain } from '../support/plain.ts';
import { eventually } from '../support/service.ts';
import { standing } from '../support/standing.ts';
import { chartIsWhole } from './chart-hands.ts';
import type { Device, Visitor } from './chromium.ts';
import { type Answered, answersTo, browserStage, type Stage } from './stage.ts';

export interface DriftStage extends Stage {
  /** Visited most often: something was learned of it. */
  readonly known: InstrumentSummary;
  /** Tuned, in a room without a sensor. */
  readonly unheard: string;
  /** Beside the known one, and nobody has tuned it. */
  readonly untuned: string;
  /**
   * The page of an instrument once it is drawn, of the known one also all that was learned; and what it was answered, by
   * the part of the address after the instrument. The fleet goes on learning meanwhile.
   */
  openPage(device?: Device, id?: string): Promise<Visitor & { readonly answered: Answered }>;
}

export const driftStage = (): DriftStage =>
  standing(async (undo) => {
    const stage = await browserStage(undo, (folder) => seedFolder(folder, Date.now(), () => undefined));
    const { client } = stage;
    const all = await client.get<InstrumentSummary[]>('/api/instruments');
    const [known] = all
      .filter(({ inside, room }) => inside ?? room)
      .toSorted((a, b) => b.strip.visitsMs.length - a.strip.visitsMs.length);
    if (!known) throw new Error('the demo has no instruments');
    const [unheard, untuned] = [randomUUID(), randomUUID()];
    await client.put(`/api/instruments/${untuned}`, {
      ...instrumentBody,
      name: 'Untuned',
      roomId: known.roomId,
    });
    const { roomId } = await client.house({ name: 'Unheard' });
    await client.put(`/api/instruments/${unheard}`, { ...instrumentBody, name: 'Unheard', roomId });
    await client.put(`/api/visits/${randomUUID()}`, tuning(unheard, Date.now() - 86_400_000));
    const ofKnown = <Body>(route: string) => client.get<Body>(`/api/instruments/${known.id}/${route}`);
    await eventually(
      'something is learned, and can be looked back on',
      async () => {
        const learned = await ofKnown<Learned>('learned');
        const back = await ofKnown<LookBackPage>('look-back');
        return learned.points.length > 0 && back.visits.length > 0;
      },
      180_000,
    );
    return {
      ...{ ...stage, known, unheard, untuned },
      async openPage(device: Device = 'laptop', id: string = known.id) {
        let answers: Answered | undefined;
        const visitor = await stage.open(`/instruments/${id}`, device, (page) => {
          answers = answersTo(page);
        });
        await visitor.page.locator('.plot canvas').nth(2).waitFor();
        if (id === known.id) {
          await chartIsWhole(visitor.page);
          await visitor.page.locator('.look-back .scores').waitFor();
        }
        const answered: Answered = async (route) => {
          if (!answers) throw new Error('nobody listened');
          return answers(`/api/instruments/${id}/${route}`);
        };
        return { ...visitor, answered };
      },
    };
  }, 300_000);

/** The number a page shows, with its own minus. */
export const number = (text: string | null): number => Number(plain(text).replace('\u2212', '-'));

/** As a page rounds it: to nothing, and never to less than nothing. */
export const rounded = (value: number | null | undefined, digits: number): number =>
  typeof value === 'number' ? Number(value.toFixed(digits)) + 0 : Number.NaN;
