/** Links without an account: who they are for, what for, and a signature by that person's own key. A new key voids them. */
import { createHmac, timingSafeEqual } from 'node:crypto';

export type Purpose = 'unsubscribe' | 'care' | 'tasks';

interface Keyed {
  readonly id: string;
  readonly key: string;
}

const signature = ({ key }: Keyed, purpose: Purpose, about: string): string =>
  createHmac('sha256', key).update(`${purpose}\n${about}`).digest('base64url').slice(0, 32);

/** @param about what else the link is about, such as an instrument's id; no dots. */
export const signLink = (person: Keyed, purpose: Purpose, about = ''): string =>
  [person.id, ...(about ? [about] : []), signature(person, purpose, about)].join('.');

/** @returns what the link is about; null where it was not made for this person and purpose. */
export function readLink(token: string, purpose: Purpose, person: Keyed): { readonly about: string } | null {
  const parts = token.split('.');
  const [id, about = '', given = ''] = parts.length === 3 ? parts : [parts[0], '', parts[1]];
  if (id !== person.id) return null;
  const [a, b] = [Buffer.from(given), Buffer.from(signature(person, purpose, about))];
  return a.length === b.length && timingSafeEqual(a, b) ? { about } : null;
}

/** Whose link it claims to be. */
export const claimedPerson = (token: string): string => token.split('.')[0] ?? '';
