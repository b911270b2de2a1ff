/** How the contract's words are said on a page. */
import type { Class0to3, Register, Use } from '../../server/contract/index.ts';

export const registerNames: Readonly<Record<Register, string>> = {
  bass: 'Bass',
  tenor: 'Tenor',
  middle: 'Middle',
  treble: 'Treble',
  top: 'Top',
};

/** What each register holds, for whoever does not have it by heart. */
export const registerMeanings: Readonly<Record<Register, string>> = {
  bass: 'the wound strings',
  tenor: 'the lowest plain strings, up to about F3',
  middle: 'up to C5',
  treble: 'up to C7',
  top: 'above C7',
};

export const useNames: Readonly<Record<Use, string>> = {
  concert: 'Concert',
  studio: 'Teaching studio',
  practice: 'Practice',
  worship: 'Worship',
  home: 'Home',
};

/** Urgency classes after EN 16096:2012, from 0 to 3, in our words. */
export const urgencyWords: readonly [string, string, string, string] = [
  'nothing pressing',
  'in the coming months',
  'soon',
  'at once',
];

export function urgencyWord(urgency: Class0to3): string {
  return urgencyWords[urgency];
}

/** Condition classes after EN 16096:2012, in our words. */
export const conditionWords: readonly [string, string, string, string] = [
  'no symptoms',
  'minor',
  'moderate',
  'major',
];

/** Three steps of a board's strain over its limit; 0 is none. */
export const boardClassWords: readonly [string, string, string, string] = [
  'well within what it can bear',
  'past half of what it can bear',
  'past three quarters of what it can bear',
  'at or beyond what it can bear',
];

export const finishNames = {
  bare: 'Bare wood',
  shellac: 'Shellac',
  lacquer: 'Lacquer',
  varnish: 'Varnish',
  polyurethane: 'Polyurethane',
} as const;

export const speciesNames = {
  'spruce-sitka': 'Sitka spruce',
  'spruce-engelmann': 'Engelmann spruce',
  'spruce-red': 'Red spruce',
  'spruce-white': 'White spruce',
  'spruce-black': 'Black spruce',
} as const;
