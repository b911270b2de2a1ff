/** One instrument in the list: how urgent, where, what is true of it, its year, its numbers. */
import { useMemo } from 'preact/hooks';
import type { InstrumentSummary } from '../../server/contract/index.ts';
import { Said } from '../marks/said.tsx';
import { stripMark } from '../marks/strip-shape.ts';
import { Tally } from '../marks/tally.tsx';
import { YearStrip } from '../marks/year-strip.tsx';
import { moistureWord } from '../words/moisture.ts';
import { percent } from '../words/numbers.ts';
import { degrees, temperatureUnit } from '../words/temperature.ts';
import { urgencyWord } from '../words/terms.ts';

function airWords({ inside, room }: InstrumentSummary): string | null {
  const air = inside ?? room;
  if (!air) return null;
  const parts = [
    ...(air.humidityPct === null ? [] : [percent(air.humidityPct)]),
    ...(air.temperatureC === null ? [] : [degrees(air.temperatureC)]),
  ];
  return parts.length === 0 ? null : `${inside ? 'inside' : 'room'} ${parts.join(', ')}`;
}

export function InstrumentRow({
  instrument: i,
  place,
}: {
  instrument: InstrumentSummary;
  place: 'full' | 'room';
}) {
  const air = airWords(i);
  const unit = temperatureUnit.value;
  // The list may be a thousand rows long and is asked for again every few seconds: a row whose content is the same is
  // not built again.
  const content = JSON.stringify([
    i.name,
    i.advice,
    i.boardMoisturePct,
    air,
    place,
    i.venueName,
    i.timeZone,
    i.roomName,
    unit,
  ]);
  return useMemo(
    () => (
      <li class="instrument-row">
        <div class="row-words">
          <h3>
            <Tally value={i.advice.urgency} words={urgencyWord(i.advice.urgency)} />
            <a href={`/instruments/${i.id}`}>{i.name}</a>
          </h3>
          <p class="row-place">{place === 'full' ? `${i.venueName} · ${i.roomName}` : i.roomName}</p>
          <p class="row-advice">
            <Said sentence={i.advice.sentence} urgent={i.advice.urgent} />
          </p>
        </div>
        <YearStrip strip={i.strip} timeZone={i.timeZone} />
        <p class="row-numbers">
          {i.boardMoisturePct === null ? (
            <span class="quiet">board not known yet</span>
          ) : (
            <>
              <b>{percent(i.boardMoisturePct, 1)}</b>{' '}
              <span class="quiet">{moistureWord(i.boardMoisturePct)}</span>
            </>
          )}
          <span class="row-air quiet">{air ?? 'no air measured'}</span>
        </p>
      </li>
    ),
    [content, stripMark(i.strip)],
  );
}
