import { dayName, percent } from '../wording.ts';
import { atOnce, type Rule } from './rule.ts';

/** The humidity control in the case no longer keeps the room away. */
export const controlLost: Rule = {
  name: 'control-lost',
  basis: 'outlook',
  durations: () => atOnce,
  measure({ outlook }) {
    const control = outlook?.control;
    if (!control || control.lost === null) return null;
    return { over: control.lost, quiet: !control.lost };
  },
  severity: () => 2,
  say({ outlook, instrument, nowMs }) {
    const control = outlook?.control;
    const dry = (control?.gapPct ?? 0) < 0;
    const since = dayName(control?.sinceMs ?? nowMs, instrument.timeZone, nowMs);
    const causes = dry
      ? 'it is unplugged or its tank has run dry'
      : 'it is unplugged or its drying side is weak';
    return {
      what: `Its humidity control has stopped holding since about ${since}: the inside follows ${percent(100 * (control?.share ?? 0))} of the gap between set point and room, where ${percent(100 * (control?.usual ?? 0))} is usual.`,
      why: `Most likely ${causes}.`,
      toDo: 'Have the venue or the client look first; go there if it still does nothing in three days.',
      toVenue: `The humidity control in this piano seems to have stopped: please see today whether it is plugged in${dry ? ' and its tank filled' : ''}.`,
      toClient: `The humidity control in your piano seems to have stopped: please see whether it is plugged in${dry ? ' and whether it asks for water' : ''}.`,
      notBeforeMs: null,
      minutes: 30,
      evidence: {
        'share of the gap followed, of late': control?.share ?? null,
        'share usually': control?.usual ?? null,
        'room less set point, points': control?.gapPct ?? null,
        'set point, %RH': control?.setPct ?? null,
      },
    };
  },
};
