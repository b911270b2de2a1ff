/** What the watch can find, as it is said on a page. */
import type { RuleName } from '../../server/contract/index.ts';

export const ruleWords: Readonly<Record<RuleName, string>> = {
  'board-dry': 'a soundboard too dry',
  'board-wet': 'a soundboard too damp',
  sweat: 'sweat on the plate and strings',
  'control-lost': 'a humidity control that stopped holding',
  'frost-ahead': 'frost to come',
  'pitch-out': 'pitch out of tolerance',
  'unisons-out': 'unisons too wide',
  'event-unsteady': 'an event that a tuning would not hold for',
  mould: 'mould',
  rust: 'rust',
  'pins-dry': 'tuning pins that may loosen',
  'action-wet': 'a damp action',
  swing: 'swings of the air',
  'finding-open': 'findings not yet seen to',
  'service-due': 'services that are due',
  'sensor-stuck': 'a sensor that stands still',
  'sensor-off': 'a sensor off from its neighbours',
  'sensor-silent': 'a silent sensor',
  'battery-low': 'a low battery',
};

/** Of a rule the service may know and this page does not yet: its own name. */
export const ruleWord = (rule: string): string =>
  Object.hasOwn(ruleWords, rule) ? ruleWords[rule as RuleName] : rule;
