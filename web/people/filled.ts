/** A care note as its client would read it: the words of a template with an invented client's filled in. */
import type { CareSituation, CareWords, carePlaceholders } from '../../server/contract/index.ts';

type Placeholder = (typeof carePlaceholders)[number];

/** What each stands for, said beside the field. */
export const placeholderWords: Readonly<Record<Placeholder, string>> = {
  client: 'the client’s name',
  instrument: 'the instrument',
  room: 'its room',
  what: 'what the watch found, in plain words',
  technician: 'your name',
  dates: 'dates on which you could come',
  link: 'the way to answer',
};

const whatWords: Readonly<Record<CareSituation, string>> = {
  'hot dry winter': 'the air at your piano has been very dry for two weeks.',
  'damp summer': 'the air at your piano is too damp for it.',
  'humidity control dry': 'the humidity control in your piano seems to have stopped.',
  'moved piano': 'Its wood still takes up moisture.',
  tuning: 'your piano has gone out of tune with the season.',
};

export function filledWords(words: CareWords, situation: CareSituation): CareWords {
  const values: Readonly<Record<string, string>> = {
    client: 'Ms Ondrelle',
    instrument: 'Grand 173 cm',
    room: 'Music room',
    what: whatWords[situation],
    technician: 'Ilva Marrendow',
    dates: 'Dates on which I could come: 12 March, 16 March, 18 March.',
    link: 'Choose a date, tell me that it is done, or ask me to call: https://pianos.example.org/care/…',
  } satisfies Record<Placeholder, string>;
  const fill = (text: string) => text.replaceAll(/\{(\w+)\}/g, (whole, key: string) => values[key] ?? whole);
  return { subject: fill(words.subject), words: fill(words.words).replaceAll(/\n{3,}/g, '\n\n') };
}
