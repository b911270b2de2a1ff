/** All groups in the order the work goes, and how to find one's way among them. */
import { actionOut } from './action-out.ts';
import { backIn } from './back-in.ts';
import { closed } from './closed.ts';
import { fromBelow } from './from-below.ts';
import type { Group, Item, Kind } from './item.ts';
import { opened } from './opened.ts';

const all: readonly Group[] = [...closed, ...opened, ...fromBelow, ...actionOut, ...backIn];

const fits = (one: { readonly kinds?: readonly Kind[] }, kind: Kind): boolean =>
  one.kinds === undefined || one.kinds.includes(kind);

/** What is looked at on an instrument of this kind. */
export function groupsFor(kind: Kind): Group[] {
  return all
    .filter((group) => fits(group, kind))
    .map((group) => ({ ...group, items: group.items.filter((item) => fits(item, kind)) }));
}

const byId = new Map(all.flatMap((group) => group.items.map((item) => [item.id, { item, group }] as const)));

/** The item of this id and its group, whatever the kind; null for an id of another time. */
export function itemOf(id: string): { readonly item: Item; readonly group: Group } | null {
  return byId.get(id) ?? null;
}

export const itemIds: readonly string[] = [...byId.keys()];
