/** Every rule about an instrument; to add one, write it beside this file and name it here. */
import { boardDry, boardWet } from './board-stress.ts';
import { controlLost } from './control-lost.ts';
import { actionWet, mould, rust, sweat } from './damp.ts';
import { eventUnsteady } from './event-unsteady.ts';
import { findingOpen } from './finding-open.ts';
import { pinsDry } from './pins-dry.ts';
import { pitchOut } from './pitch-out.ts';
import type { Rule } from './rule.ts';
import { serviceDue } from './service-due.ts';
import { swing } from './swing.ts';
import { unisonsOut } from './unisons-out.ts';

export const instrumentRules: readonly Rule[] = [
  boardDry,
  boardWet,
  sweat,
  controlLost,
  pitchOut,
  unisonsOut,
  eventUnsteady,
  mould,
  rust,
  pinsDry,
  actionWet,
  swing,
  findingOpen,
  serviceDue,
];

export const airRules = instrumentRules.filter((rule) => rule.basis === 'air');
export const otherRules = instrumentRules.filter((rule) => rule.basis !== 'air');
export const instrumentRuleNames = instrumentRules.map((rule) => rule.name);
