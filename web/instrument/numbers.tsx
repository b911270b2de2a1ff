/** The few numbers the sentence above rests on, in one line. */
import type { AirNow, InstrumentPage, Register } from '../../server/contract/index.ts';
import type { Spread } from '../drift/today.ts';
import { spreadWords } from '../drift/unisons.tsx';
import { nowMs } from '../service/now.ts';
import { moistureWord } from '../words/moisture.ts';
import { cents, centsWithSd, percent, plain } from '../words/numbers.ts';
import { degrees } from '../words/temperature.ts';
import { boardClassWords, registerNames } from '../words/terms.ts';
import { lasting, shortDay } from '../words/times.ts';
import { chanceWords, toleranceWords, unisonsLeft } from './pitch-words.ts';

/** An hour's mean older than this is not "now" any more. */
const oldMs = 3 * 3_600_000;

function Air({ name, air }: { readonly name: string; readonly air: AirNow | null }) {
  if (!air) return null;
  const ageMs = nowMs.value - air.timeMs;
  const parts = [
    ...(air.humidityPct === null ? [] : [percent(air.humidityPct)]),
    ...(air.temperatureC === null ? [] : [degrees(air.temperatureC)]),
  ];
  if (parts.length === 0) return null;
  return (
    <div>
      <dt>{name}</dt>
      <dd>{parts.join(' · ')}</dd>
      {ageMs > oldMs && <dd class="beside">{lasting(ageMs)} ago</dd>}
    </div>
  );
}

interface NumbersProps {
  readonly instrument: InstrumentPage;
  /** The one farthest off. */
  readonly register: Register;
  /** Unisons as foretold for today; null where they are not. */
  readonly spread: Spread | null;
}

export function Numbers({ instrument: i, register, spread }: NumbersProps) {
  const farthest = i.registers.find((r) => r.register === register);
  const unisons = unisonsLeft(i.visits, i.tolerance);
  return (
    <dl class="numbers">
      <div>
        <dt>Board moisture</dt>
        <dd>{i.boardMoisturePct === null ? 'not known yet' : percent(i.boardMoisturePct, 1)}</dd>
        {i.boardMoisturePct !== null && (
          <dd class="beside">
            {moistureWord(i.boardMoisturePct)}
            {i.boardClass !== null && i.boardClass > 0 && <>, {boardClassWords[i.boardClass]}</>}
          </dd>
        )}
      </div>
      <Air name="Air inside" air={i.inside} />
      <Air name="Air of the room" air={i.room} />
      <div>
        <dt>Pitch, predicted</dt>
        <dd>{i.whole ? cents(i.whole.levelCents) : 'not yet'}</dd>
        {i.whole ? (
          <dd class="beside">
            {chanceWords(i.whole.beyond)}; tolerance {toleranceWords(i.tolerance)}
          </dd>
        ) : (
          <dd class="beside">needs a tuning to start from</dd>
        )}
        {typeof farthest?.offsetCents === 'number' && (
          <dd class="beside">
            {registerNames[register]} farthest off: {centsWithSd(farthest.offsetCents, farthest.sdCents ?? 0)}
          </dd>
        )}
      </div>
      {spread && (
        <div>
          <dt>Unisons, predicted</dt>
          <dd>{plain(spread.middle, 1)} cents</dd>
          <dd class="beside">
            {spreadWords(spread, i.tolerance)}; tolerance {plain(i.tolerance.unisonCents, 1)}
          </dd>
        </div>
      )}
      {!spread && unisons && (
        <div>
          <dt>Unisons, as left</dt>
          <dd>{unisons.cents.toFixed(1)} cents</dd>
          <dd class="beside">
            {unisons.beyond ? 'beyond' : 'within'} {i.tolerance.unisonCents}
          </dd>
        </div>
      )}
      <div>
        <dt>Last tuned</dt>
        <dd>{i.lastTunedMs === null ? 'not recorded' : shortDay(i.lastTunedMs, i.timeZone)}</dd>
        {i.lastTunedMs !== null && <dd class="beside">{lasting(nowMs.value - i.lastTunedMs)} ago</dd>}
      </div>
    </dl>
  );
}
