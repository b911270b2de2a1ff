/**
 * What this process wrote lately, so that it can tell a repeated value from a new one where the engine cannot. A
 * gateway that sends again does so within minutes; older repeats count as stored.
 */
type Fields = Readonly<Record<string, number>>;
export type Noticed = { stored: number; duplicates: number; conflicts: number };

/** Adds to `counts` what of `fields`, now written under `key`, is new. */
export type Notice = (key: string, fields: Fields, counts: Noticed) => void;

/** @param most keys remembered, at most */
export function createNotice(most: number): Notice {
  // Two halves: when the young one is full it becomes the old one, and the old one is forgotten.
  let young = new Map<string, Fields>();
  let old = new Map<string, Fields>();

  return (key, fields, counts) => {
    const had = young.get(key) ?? old.get(key);
    for (const [field, value] of Object.entries(fields)) {
      if (had?.[field] === undefined) counts.stored += 1;
      else if (had[field] === value) counts.duplicates += 1;
      else counts.conflicts += 1;
    }
    young.set(key, { ...had, ...fields });
    if (young.size < most / 2) return;
    old = young;
    young = new Map();
  };
}
