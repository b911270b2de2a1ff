/** A visit in the second form of its envelope, for tests to change. */
import { randomUUID } from 'node:crypto';
import type { Finding, VisitBody, VisitSheet } from '../../server/contract/index.ts';
import { groupsFor } from '../../server/contract/index.ts';
import { tuning } from '../support/api.ts';

export const allItems = groupsFor('grand').flatMap((group) => group.items.map((item) => item.id));

export function sheet(changes: Partial<VisitSheet> = {}): VisitSheet {
  return {
    kind: 'grand',
    beganMs: Date.now() - 5_400_000,
    sound: allItems,
    notExamined: [],
    measured: [],
    pins: [],
    takenOff: [],
    workDone: [],
    control: [],
    photos: [],
    remarksAnswered: [],
    estimate: null,
    signature: null,
    ...changes,
  };
}

export function finding(changes: Partial<Finding>): Finding {
  return {
    assembly: 'soundboard and ribs',
    part: 'separated rib',
    conditionClass: 2,
    urgencyClass: 2,
    recommendationClass: 2,
    words: '',
    workProposed: null,
    estimatedMinutes: null,
    measured: null,
    ...changes,
  };
}

export function inspection(
  instrumentId: string,
  atMs: number,
  findings: readonly Finding[] = [],
  changes: Partial<VisitSheet> = {},
): VisitBody & { id: string } {
  const named = findings.flatMap(({ itemId }) => (itemId ? [itemId] : []));
  const body = tuning(instrumentId, atMs, {
    asLeft: null,
    findings: [...findings],
    sheet: sheet({ sound: allItems.filter((id) => !named.includes(id)), ...changes }),
  });
  return { ...body, id: randomUUID() };
}
