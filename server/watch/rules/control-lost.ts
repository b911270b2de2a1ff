import type { ControlStanding } from '../../drift/control.ts';
import { dayName, odds, percent } from '../wording.ts';
import { atOnce, type Rule } from './rule.ts';

type Loss = NonNullable<ControlStanding['loss']>;

/** What each likely cause is to whoever stands before the piano. */
const causes: Readonly<Record<Loss['cause'], string>> = {
  'unplugged or off': 'it is unplugged or switched off',
  'run dry': 'its tank has run dry',
  'humidifying side weak': 'its humidifying side has grown weak (pads or tank)',
  'dehumidifying side weak': 'its drying side has grown weak',
};

/** The humidity control in the case no longer keeps the room away. Where the gap is too small to tell, nothing begins or ends. */
export const controlLost: Rule = {
  name: 'control-lost',
  basis: 'outlook',
  durations: () => atOnce,
  measure({ outlook }) {
    const control = outlook?.control;
    if (!control || control.now === 'cannot tell') return null;
    return { over: control.now === 'lost', quiet: control.now === 'holds' };
  },
  severity: () => 2,
  say({ outlook, instrument, nowMs }) {
    const control = outlook?.control;
    const loss = control?.loss;
    if (!control || !loss) {
      return {
        what: 'Its humidity control had stopped holding when that was last known.',
        why: control?.because ?? 'There is no sensor inside and in the room by which to tell now.',
        toDo: 'See whether it is plugged in and its tank filled.',
        toVenue: 'Please see whether the humidity control in this piano is plugged in and its tank filled.',
        toClient: 'Please see whether the humidity control in your piano is plugged in and asks for water.',
        notBeforeMs: null,
        minutes: 30,
        evidence: {},
      };
    }
    const dry = loss.side === 'dry';
    const since = dayName(loss.sinceMs, instrument.timeZone, nowMs);
    return {
      what: `Its humidity control has stopped holding since about ${since}: the inside has followed ${percent(100 * loss.share)} of the gap to the room beyond what it lets through.`,
      why: `Likely ${causes[loss.cause]}, in ${odds(loss.causeChance)}: ${loss.why}`,
      toDo: 'Have the venue or the client look first; go there if it still does nothing in three days.',
      toVenue: `The humidity control in this piano seems to have stopped: please see today whether it is plugged in${dry ? ' and its tank filled' : ''}.`,
      toClient: `The humidity control in your piano seems to have stopped: please see whether it is plugged in${dry ? ' and whether it asks for water' : ''}.`,
      notBeforeMs: null,
      minutes: 30,
      evidence: {
        'share of the gap followed since': loss.share,
        'share it usually lets through': control.usual,
        'likely cause': loss.cause,
        'chance of that cause': loss.causeChance,
        'set point, %RH': control.setPct,
      },
    };
  },
};
