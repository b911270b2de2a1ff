/** What was recorded at this instrument, newest first: found over left, register beside register. */
import {
  type InstrumentPage,
  type PitchReading,
  type PitchTaken,
  type Register,
  registers,
  type Visit,
} from '../../server/contract/index.ts';
import { Scroll } from '../marks/scroll.tsx';
import { inUnit, standardNoteHz } from '../visit-sheet/pitch-arithmetic.ts';
import { hertz, minutes, percent, signed } from '../words/numbers.ts';
import { degrees } from '../words/temperature.ts';
import { conditionWords, registerNames } from '../words/terms.ts';
import { longDay } from '../words/times.ts';
import { unisonWords } from './unison-words.ts';

/** The middle is read at A4: a visit that took A4 alone took this. */
function readingOf(taken: PitchTaken | null, register: Register): PitchReading | null {
  return taken?.[register] ?? (register === 'middle' ? (taken?.a4 ?? null) : null);
}

interface SideProps {
  readonly visit: Visit;
  readonly side: 'asFound' | 'asLeft';
  readonly standardHz: number;
}

function Side({ visit, side, standardHz }: SideProps) {
  return (
    <>
      <td class="quiet">{side === 'asFound' ? 'found' : 'left'}</td>
      {registers.map((register) => {
        const reading = readingOf(visit[side], register);
        return (
          <td key={register} class="n">
            {reading === null
              ? '–'
              : signed(inUnit(reading, 'cents', standardNoteHz(register, standardHz)), 1)}
            {reading?.unit === 'Hz' && <span class="quiet">{hertz(reading.value, 2)}</span>}
          </td>
        );
      })}
      <td class="n">{unisonWords(visit, side === 'asFound' ? 'found' : 'left')}</td>
    </>
  );
}

function air({ conditions }: Visit): string {
  const parts = [
    ...(conditions.humidityPct === null ? [] : [percent(conditions.humidityPct)]),
    ...(conditions.temperatureC === null ? [] : [degrees(conditions.temperatureC)]),
  ];
  return parts.length === 0 ? '–' : parts.join(', ');
}

export function Visits({ instrument: i }: { readonly instrument: InstrumentPage }) {
  const visits = i.visits.toSorted((a, b) => b.atMs - a.atMs || b.receivedMs - a.receivedMs);
  return (
    <section class="visits" aria-labelledby="visits">
      <h2 id="visits">Visits</h2>
      {visits.length === 0 ? (
        <p class="quiet">None recorded yet. The first tuning gives the predictions something to stand on.</p>
      ) : (
        <Scroll labelledBy="visits">
          <table>
            <thead>
              <tr>
                <th scope="col">When</th>
                <th scope="col">Cents</th>
                {registers.map((register) => (
                  <th key={register} scope="col" class="n">
                    {registerNames[register]}
                  </th>
                ))}
                <th scope="col" class="n">
                  Unisons
                </th>
                <th scope="col">Air there</th>
                <th scope="col">Took</th>
                <th scope="col">Note</th>
                <td />
              </tr>
            </thead>
            {visits.map((visit) => (
              <VisitRows key={visit.id} visit={visit} instrument={i} />
            ))}
          </table>
        </Scroll>
      )}
    </section>
  );
}

interface RowsProps {
  readonly visit: Visit;
  readonly instrument: InstrumentPage;
}

function VisitRows({ visit, instrument: i }: RowsProps) {
  const day = longDay(visit.atMs, i.timeZone);
  return (
    <tbody>
      <tr>
        <th scope="rowgroup" rowSpan={2}>
          {day}
          {visit.by && <span class="quiet">{visit.by}</span>}
          {visit.corrects && <span class="quiet">a correction</span>}
          {visit.stringWork && <span class="quiet">with string work</span>}
        </th>
        <Side visit={visit} side="asFound" standardHz={i.pitchStandardHz} />
        <td rowSpan={2}>{air(visit)}</td>
        <td rowSpan={2}>{visit.minutes === null ? '–' : minutes(visit.minutes)}</td>
        <td rowSpan={2} class="note">
          {visit.note}
          {visit.findings
            .filter(({ conditionClass }) => conditionClass > 0)
            .map((finding) => (
              <span key={`${finding.assembly} ${finding.part} ${finding.words}`} class="quiet">
                {finding.assembly}: {finding.words === '' ? finding.part : finding.words},{' '}
                {conditionWords[finding.conditionClass]}
              </span>
            ))}
        </td>
        <td rowSpan={2}>
          <a href={`/instruments/${i.id}/visit?corrects=${visit.id}`}>
            correct<span class="unseen"> the visit of {day}</span>
          </a>
        </td>
      </tr>
      <tr>
        <Side visit={visit} side="asLeft" standardHz={i.pitchStandardHz} />
      </tr>
    </tbody>
  );
}
