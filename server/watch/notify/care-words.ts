/** The words of care notes as an organisation has them: its own, or the usual ones. */
import type { CareSituation, CareWords, CareWordsPage } from '../../contract/index.ts';
import type { Database } from '../../db/database.ts';
import type { Viewer } from '../../registry/viewer.ts';
import { careWords, usualCareWords } from './care.ts';

const same = (a: CareWords, b: CareWords): boolean => a.subject === b.subject && a.words === b.words;

export async function careWordsOf(
  db: Database,
  viewer: Viewer,
  situation: CareSituation,
): Promise<CareWordsPage[number]> {
  const { subject, words } = await careWords(db, viewer, situation);
  const usual = usualCareWords[situation];
  return { situation, words: { subject, words }, usual, own: !same({ subject, words }, usual) };
}

/** The usual words are not kept as somebody's own: should they be bettered, they are bettered for all who have them. */
export async function putCareWords(
  db: Database,
  viewer: Viewer,
  situation: CareSituation,
  words: CareWords,
): Promise<void> {
  await db.transaction().execute(async (trx) => {
    await trx
      .deleteFrom('care_words')
      .where('organisation_id', '=', viewer.organisationId)
      .where('situation', '=', situation)
      .execute();
    if (same(words, usualCareWords[situation])) return;
    const { subject, words: text } = words;
    await trx
      .insertInto('care_words')
      .values({ organisation_id: viewer.organisationId, situation, subject, words: text })
      .execute();
  });
}
