/** What somebody decides about calls: accept, move, give to a person, decline, take back. All of it or nothing. */
import type { Call, CallChoiceBody, CallChoicesBody } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import { NotFound, seenBy, type Viewer } from '../registry/viewer.ts';
import { openCalls } from './open-calls.ts';

/** @throws NotFound when one of the calls is not open, or a person is not the viewer's: then nothing is changed. */
export async function chooseCalls(
  db: Database,
  viewer: Viewer,
  { choices }: CallChoicesBody,
  nowMs: number,
): Promise<void> {
  await db.transaction().execute(async (trx) => {
    const open = new Set((await openCalls(trx, viewer, nowMs)).map((one) => one.id));
    const people = new Set(
      (await trx.selectFrom('person').$call(seenBy(viewer, 'person')).select('id').execute()).map(
        (one) => one.id,
      ),
    );
    for (const { id, choice } of choices) {
      if (!open.has(id)) throw new NotFound('id', 'id: no such call is open');
      if (choice?.personId && !people.has(choice.personId))
        throw new NotFound('personId', 'personId: no such person');
      await write(trx, viewer, id, choice, nowMs);
    }
  });
}

async function write(
  trx: Database,
  viewer: Viewer,
  id: string,
  choice: CallChoiceBody | null,
  nowMs: number,
): Promise<void> {
  await trx
    .deleteFrom('call_choice')
    .where('organisation_id', '=', viewer.organisationId)
    .where('call_id', '=', id)
    .execute();
  if (choice === null) return;
  await trx
    .insertInto('call_choice')
    .values({
      call_id: id,
      organisation_id: viewer.organisationId,
      choice: choice.choice,
      planned_ms: choice.plannedMs,
      person_id: choice.personId,
      reason: choice.reason,
      chosen_ms: nowMs,
    })
    .execute();
}

/** @throws NotFound as `chooseCalls` */
export async function chooseCall(
  db: Database,
  viewer: Viewer,
  id: string,
  choice: CallChoiceBody,
  nowMs: number,
): Promise<Call> {
  await chooseCalls(db, viewer, { choices: [{ id, choice }] }, nowMs);
  const call = (await openCalls(db, viewer, nowMs)).find((one) => one.id === id);
  if (!call) throw new NotFound('id', 'id: no such call is open');
  return call;
}
