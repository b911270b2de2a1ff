/** What a person hears, and when, in a sentence. */
import type { Person, PersonBody } from '../../server/contract/index.ts';
import { count } from '../words/numbers.ts';
import { longDay } from '../words/times.ts';

/** 7 -> "07:00". */
export const hourWords = (hour: number): string => `${String(hour).padStart(2, '0')}:00`;

export const roleWords: Readonly<Record<PersonBody['role'], string>> = {
  technician: 'Technician',
  'venue manager': 'Venue manager',
  client: 'Client',
};

function scopeWords({ role, venueIds, instrumentIds }: PersonBody, nameOf: (id: string) => string): string {
  if (role === 'technician') return 'everything';
  if (role === 'client') return `care notes of ${count(instrumentIds.length, 'instrument')}`;
  return venueIds.map(nameOf).join(', ');
}

export function hears(person: Person, nameOf: (id: string) => string, nowMs: number): string {
  const { email, unsubscribedMs, timeZone, quietFromHour: from, quietUntilHour: until } = person;
  if (email === null) return 'Has no e-mail address: nothing is sent.';
  if (unsubscribedMs !== null) {
    return `Wanted no more messages on ${longDay(unsubscribedMs, timeZone, nowMs)}: nothing is sent.`;
  }
  const urgent = person.atOnce === 'urgent' ? ', at once only what cannot wait' : '';
  const quiet = from === until ? '' : `, nothing between ${hourWords(from)} and ${hourWords(until)}`;
  const again =
    person.reminderDays === 0 ? '' : `; what stays open again after ${count(person.reminderDays, 'day')}`;
  return `Hears of ${scopeWords(person, nameOf)} at ${hourWords(person.digestHour)}${urgent}${quiet}${again}.`;
}
