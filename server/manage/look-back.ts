import { learn } from '../drift/learned.ts';
import { lookBackOf } from '../drift/look-back.ts';
import { inPlace } from '../drift/thinking.ts';
import { instruments } from '../registry/instruments.ts';
import { firstOrganisation } from '../registry/organisations.ts';
import { scoreOf } from '../science/drift/index.ts';
import { advanceBoard } from '../series/board.ts';
import type { Command } from './command.ts';

const breathe = async (): Promise<void> => undefined;
const cents = (value: number): string => value.toFixed(2);

/** Prints how past words fared: what would have been said before each visit, against what was found at it. */
export const lookBack: Command = async ({ db, air }) => {
  const stores = { db, store: air };
  const nowMs = Date.now();
  const viewer = await firstOrganisation(db, nowMs);
  const all = await instruments(db, viewer);
  for (const instrument of all) await advanceBoard(stores, viewer, instrument, nowMs, null);
  await learn(stores, viewer, all, nowMs, breathe);
  const score = scoreOf(await lookBackOf(db, viewer, inPlace));
  if (!score) {
    process.stdout.write(
      'Nothing can be scored yet: too few visits lie within the time whose climate is known.\n',
    );
    return;
  }
  const rivals = Object.entries(score.rivalCents).map(([name, miss]) => `  ${name}: ${cents(miss)} cents`);
  process.stdout.write(
    [
      `intervals: ${score.intervals}`,
      `within the 80 % band: ${(100 * score.coverage).toFixed(0)} %`,
      `mean miss: ${cents(score.errorCents)} cents`,
      'rivals:',
      ...rivals,
      `ratio to the best rival (${score.bestRival}): ${score.ratio.toFixed(2)}`,
      '',
    ].join('\n'),
  );
};
