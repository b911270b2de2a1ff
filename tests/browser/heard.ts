/** A page and what it is answered, for tests that compare the two. */
import type { Device, Visitor } from './chromium.ts';
import { type Answered, answersTo, type Stage } from './stage.ts';

export async function openHeard(
  stage: Pick<Stage, 'open'>,
  path: string,
  device?: Device,
): Promise<Visitor & { readonly answered: Answered }> {
  let answered: Answered = async () => {
    throw new Error('nobody listened');
  };
  const visitor = await stage.open(path, device, (page) => {
    answered = answersTo(page);
  });
  return { ...visitor, answered };
}
