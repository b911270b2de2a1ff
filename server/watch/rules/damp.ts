/** What too much water in the air does: sweat on metal, slow centres, rust, mould. */
import { hoursAbove, isMeasured, meanOver } from '../course.ts';
import { percent, temperature } from '../wording.ts';
import { afterHours, type Rule } from './rule.ts';

const nowhere = { notBeforeMs: null, minutes: 0 };
const airOut =
  'Air the room when it is drier outside, or run a dehumidifier; lower the humidity by at most 5 points a day.';
const weekHours = 168;
const rustPct = 65;

export const sweat: Rule = {
  name: 'sweat',
  basis: 'air',
  // Nights in a row are one cause.
  durations: () => afterHours(0, 30),
  measure: ({ course, settings }) =>
    course.marginK === null || !isMeasured(course)
      ? null
      : {
          over: course.marginK < settings['sweat begins'],
          quiet: course.marginK > settings['sweat ends'],
        },
  severity: ({ course }) => ((course.marginK ?? 0) <= 0 ? 3 : 2),
  say: ({ course }) => ({
    ...nowhere,
    what: `Strings and plate are within ${temperature(Math.max(0, course.marginK ?? 0))} of the dew point: water forms on them.`,
    why: 'Wet steel rusts within hours, and rusted strings break.',
    toDo: 'Let the room warm slowly with the lid closed; bring no warm damp air to the cold piano.',
    toVenue:
      'Close the lid of the piano now, warm the room slowly, and keep warm damp air from it until it has warmed.',
    toClient:
      'Your piano is colder than the damp air around it; please close its lid and let it warm slowly.',
    evidence: { 'plate above the dew point, K': course.marginK, 'plate, °C': course.plateC },
  }),
};

export const actionWet: Rule = {
  name: 'action-wet',
  basis: 'air',
  durations: () => afterHours(12, 72),
  measure({ course, settings }) {
    const mean = isMeasured(course) ? meanOver(course, 72) : null;
    return mean === null
      ? null
      : { over: mean > settings['damp begins'], quiet: mean < settings['damp ends'] };
  },
  severity: ({ course }) => ((meanOver(course, 72) ?? 0) > 70 ? 2 : 1),
  say: ({ course }) => ({
    notBeforeMs: null,
    minutes: 30,
    what: `Three days of air at the piano average ${percent(meanOver(course, 72) ?? 0)}.`,
    why: 'Centres turn sluggish and keys stick in such air.',
    toDo: `${airOut} Ease nothing before it is dry again: it would be loose in winter.`,
    toVenue: `This room is damp. ${airOut}`,
    toClient: 'The air around your piano is damp; keys may feel slow until it is drier.',
    evidence: { 'mean of 72 hours, %RH': meanOver(course, 72) },
  }),
};

export const rust: Rule = {
  name: 'rust',
  basis: 'air',
  durations: () => afterHours(0, weekHours),
  measure: ({ course, settings }) => {
    if (!isMeasured(course)) return null;
    const hours = hoursAbove(course, weekHours, rustPct);
    return { over: hours >= settings['rust hours'], quiet: hours < settings['rust ends'] };
  },
  severity: ({ course }) => (hoursAbove(course, weekHours, 75) >= 48 ? 2 : 1),
  say: ({ course }) => ({
    notBeforeMs: null,
    minutes: 30,
    what: `The air at the piano was over ${rustPct}\u00a0% for ${hoursAbove(course, weekHours, rustPct)} of the last 168\u00a0hours.`,
    why: 'Strings and pins rust in such air, faster where there is dust.',
    toDo: airOut,
    toVenue: `This room is damp enough for strings to rust. ${airOut}`,
    toClient: 'The air around your piano has been damp enough for its strings to rust.',
    evidence: { 'hours over 65 %RH in a week': hoursAbove(course, weekHours, rustPct) },
  }),
};

export const mould: Rule = {
  name: 'mould',
  basis: 'air',
  durations: () => afterHours(0, 24),
  measure: ({ course, settings }) => ({
    over: course.mould.index >= settings['mould begins'],
    quiet: course.mould.index < settings['mould ends'],
  }),
  severity: ({ course }) => (course.mould.index >= 3 ? 3 : 2),
  say: ({ course }) => ({
    notBeforeMs: null,
    minutes: 60,
    what: `Mould may have begun on bare wood and felt: its index stands at ${course.mould.index.toFixed(1)} of 6.`,
    why: 'Weeks of damp air let it grow; from 3 on it can be seen.',
    toDo: 'Look under the lid, behind panels and in the corners of the room; find where the damp comes from before anything is cleaned.',
    toVenue: 'Have the damp in this room looked into: mould may have begun.',
    toClient:
      'The air around your piano has been damp for weeks; we would like to look whether mould has begun.',
    evidence: { 'mould index, 0 to 6': course.mould.index },
  }),
};
