/** The values of a message with where they stand. Pure. */

export interface Leaf {
  /** JSON Pointer (RFC 6901). */
  readonly at: string;
  readonly value: string | number | boolean | null;
}

const mostLeaves = 200;
const step = (key: string): string => `/${key.replaceAll('~', '~0').replaceAll('/', '~1')}`;
export const isObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** @param skip a list that is read entry by entry, and so is not a place of the whole */
export function leavesOf(value: unknown, skip: string | null = null, at = ''): Leaf[] {
  if (at !== '' && at === skip) return [];
  if (Array.isArray(value)) {
    return value.slice(0, 20).flatMap((one, i) => leavesOf(one, skip, `${at}/${i}`));
  }
  if (isObject(value)) {
    return Object.entries(value)
      .flatMap(([key, one]) => leavesOf(one, skip, at + step(key)))
      .slice(0, mostLeaves);
  }
  return typeof value === 'string' ||
    typeof value === 'number' ||
    typeof value === 'boolean' ||
    value === null
    ? [{ at, value }]
    : [];
}

/** Lists of objects in a message, the outermost first: each may be a batch. */
export function listsOf(value: unknown, at = ''): string[] {
  if (Array.isArray(value)) return value.some(isObject) ? [at] : [];
  return isObject(value) ? Object.entries(value).flatMap(([key, one]) => listsOf(one, at + step(key))) : [];
}

/** What stands at a place; undefined where nothing does. */
export function foundAt(document: unknown, pointer: string): unknown {
  if (pointer === '') return document;
  let here: unknown = document;
  for (const raw of pointer.slice(1).split('/')) {
    const key = raw.replaceAll('~1', '/').replaceAll('~0', '~');
    if (Array.isArray(here)) here = here[Number(key)];
    else if (isObject(here) && Object.hasOwn(here, key)) here = here[key];
    else return undefined;
  }
  return here;
}

/** The last word of a place, as it is read: "rh" of "/air~1rh". */
export const lastOf = (at: string): string =>
  (at.replaceAll('~1', '/').replaceAll('~0', '~').split('/').at(-1) ?? '').toLowerCase();
