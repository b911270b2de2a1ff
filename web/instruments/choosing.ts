/** Which instruments the list shows, and in what order: plain functions of what was asked. */
import type { InstrumentSummary } from '../../server/contract/index.ts';
import { capital, count } from '../words/numbers.ts';
import { urgencyWords } from '../words/terms.ts';

export interface Asked {
  readonly search: string;
  /** A venue's id, '' for all. */
  readonly venueId: string;
  /** Least urgency to show, 0 for all. */
  readonly urgency: number;
  readonly order: 'urgency' | 'place';
}

export interface Group {
  readonly key: string;
  readonly heading: string;
  readonly instruments: readonly InstrumentSummary[];
}

/** Without case and without accents: "Gruner Saal" finds "Grüner Saal". */
function folded(text: string): string {
  return text.normalize('NFD').replaceAll(/\p{M}/gu, '').toLowerCase();
}

/** Every word of the search must be found somewhere in the instrument's names, number or advice. */
export function chosen(instruments: readonly InstrumentSummary[], asked: Asked): InstrumentSummary[] {
  const words = folded(asked.search).split(/\s+/).filter(Boolean);
  return instruments.filter((i) => {
    if (asked.venueId !== '' && i.venueId !== asked.venueId) return false;
    if (i.advice.urgency < asked.urgency) return false;
    if (words.length === 0) return true;
    const text = folded(
      [i.name, i.roomName, i.venueName, i.serial ?? '', i.kind, i.use, i.advice.sentence].join(' '),
    );
    return words.every((word) => text.includes(word));
  });
}

const collator = new Intl.Collator(undefined, { numeric: true, sensitivity: 'base' });

/** By urgency the service's own order stands; by place the names decide, "Practice 2" before "Practice 10". */
export function grouped(instruments: readonly InstrumentSummary[], order: Asked['order']): Group[] {
  const groups = new Map<string, InstrumentSummary[]>();
  for (const instrument of instruments) {
    const key = order === 'urgency' ? String(instrument.advice.urgency) : instrument.venueId;
    const group = groups.get(key);
    if (group) group.push(instrument);
    else groups.set(key, [instrument]);
  }
  const listed = [...groups].map(([key, members]) => ({
    key,
    heading: order === 'urgency' ? capital(urgencyWords[Number(key)] ?? '') : (members[0]?.venueName ?? ''),
    instruments:
      order === 'urgency'
        ? members
        : members.toSorted(
            (a, b) => collator.compare(a.roomName, b.roomName) || collator.compare(a.name, b.name),
          ),
  }));
  return order === 'urgency'
    ? listed.sort((a, b) => Number(b.key) - Number(a.key))
    : listed.sort((a, b) => collator.compare(a.heading, b.heading));
}

export function shownWords(shown: number, all: number): string {
  return shown === all ? capital(count(all, 'instrument')) : `${shown} of ${all}`;
}
