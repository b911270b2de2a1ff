/** Pitch as found and as left, unisons, and the pins that were tried. */
import type { Content, TableCell } from 'pdfmake/interfaces.js';
import type { PitchReading, UnisonSample, Visit } from '../contract/index.ts';
import { pinClass, registers, torqueClass } from '../contract/index.ts';
import { centsBetween, hzAt, sampleNote } from '../science/index.ts';
import { table } from './paper.ts';
import { conditionWords, noteName, plain, signed, upperFirst, withUnit } from './said.ts';
import { heading, say } from './type.ts';

/** A reading in both units, since some read cents and some Hz. */
function readingWords(reading: PitchReading | null, noteHz: number): string {
  if (!reading) return '–';
  const cents = reading.unit === 'cents' ? reading.value : centsBetween(reading.value, noteHz);
  const hz = reading.unit === 'Hz' ? reading.value : hzAt(reading.value, noteHz);
  return `${signed(cents)} cents (${plain(hz, 2)} Hz)`;
}

/** About how wide a word is, for whoever reads it without the piano (proposal). */
const aboutCents = { clean: 'about 1 cent', 'slow beat': '2 to 3 cents', sour: 'over 3 cents' } as const;

/** "slow beat (2 to 3 cents), 3 sampled: C3, E3, G3" */
function unisonWords(samples: readonly UnisonSample[] | undefined, register: string): string {
  const one = samples?.find((sample) => sample.register === register);
  if (!one) return '–';
  const { cents, word, sampled, keys } = one;
  const heard = word === null ? '' : `${word} (${aboutCents[word]})`;
  const wide = cents === null ? heard : `${plain(cents)} cents`;
  const count = sampled ?? (keys.length > 0 ? keys.length : null);
  const which = keys.length > 0 ? `: ${keys.map(noteName).join(', ')}` : '';
  return count === null ? wide : `${wide}, ${count} sampled${which}`;
}

export function pitchPages(visit: Visit, standardHz: number): Content[] {
  const { asFound, asLeft } = visit;
  const rows = (['a4', ...registers] as const).flatMap((key): TableCell[][] => {
    if (!asFound?.[key] && !asLeft?.[key]) return [];
    const note = sampleNote(key === 'a4' ? 'middle' : key, standardHz);
    const name = key === 'a4' ? 'A4' : `${upperFirst(key)} (${note.note})`;
    return [
      [
        say(name),
        say(readingWords(asFound?.[key] ?? null, note.hz)),
        say(readingWords(asLeft?.[key] ?? null, note.hz)),
      ],
    ];
  });
  const spread = (cents: number | null) => (cents === null ? '–' : `${plain(cents)} cents`);
  if (visit.unisonsFoundCents !== null || visit.unisonsLeftCents !== null) {
    rows.push([
      say('Spread of unisons'),
      say(spread(visit.unisonsFoundCents)),
      say(spread(visit.unisonsLeftCents)),
    ]);
  }
  const heard = [...(visit.unisonsFound ?? []), ...(visit.unisonsLeft ?? [])];
  for (const register of registers.filter((one) => heard.some((sample) => sample.register === one))) {
    rows.push([
      say(`Unisons, ${register}`),
      say(unisonWords(visit.unisonsFound, register)),
      say(unisonWords(visit.unisonsLeft, register)),
    ]);
  }
  const pins = visit.sheet?.pins ?? [];
  const pages: Content[] = [];
  if (rows.length > 0) {
    pages.push(heading('Pitch'));
    pages.push(table([110, '*', '*'], ['', 'As found', 'As left'], rows, { rowHeads: true }));
  }
  if (pins.length > 0) {
    pages.push(heading('Tuning pins, sampled'));
    pages.push(
      table(
        [80, 110, 80, '*'],
        ['Section', 'Torque', 'Felt', 'Condition'],
        pins.map((pin) => {
          const grade = pinClass(pin);
          const holds = pin.holds === false ? 'does not hold' : pin.holds ? 'holds' : '';
          return [
            say(upperFirst(pin.section)),
            say(pin.torqueNm === null ? '–' : `${withUnit(pin.torqueNm, 'N·m')} (normal 6.8 to 13.6)`),
            say([pin.feel ?? '', holds].filter(Boolean).join(', ') || '–'),
            say(grade === null ? '–' : conditionWords[grade]),
          ];
        }),
      ),
    );
    const torques = pins.flatMap(({ torqueNm }) => (torqueNm === null ? [] : [torqueNm]));
    const weak = torques.filter((one) => torqueClass(one) > 0).length;
    if (torques.length > 0)
      pages.push(say(`${torques.length} measured, ${weak} below 5.6 N·m.`, { style: 'small' }));
  }
  return pages;
}
