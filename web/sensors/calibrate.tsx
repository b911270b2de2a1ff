/** Puts a sensor right: by salt jars, step by step, or by what it showed beside another. By dates, never over the past's head. */

import { useState } from 'preact/hooks';
import { useRoute } from 'preact-iso';
import type { Beside, Calibration, CalibrationBody, CalibrationPage } from '../../server/contract/index.ts';
import { newId } from '../form/new-id.ts';
import { useSending } from '../form/sending.ts';
import { Cautions } from '../marks/cautions.tsx';
import { Scroll } from '../marks/scroll.tsx';
import { call } from '../service/call.ts';
import { refresh, useLive } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { percent, plain, signed } from '../words/numbers.ts';
import { moment, shortDay } from '../words/times.ts';
import { SaltForm } from './salt-form.tsx';
import './calibrate.css';
import { Heads, heard } from '../marks/heads.tsx';

const timeZone = Intl.DateTimeFormat().resolvedOptions().timeZone;

const kinds: Readonly<Record<CalibrationBody['kind'], string>> = {
  salt: 'salt jars',
  beside: 'beside another sensor',
  stated: 'as stated',
  none: 'as it sends',
};

function lineWords({ gain, offsetPct, offsetC }: Calibration): string {
  const parts = [
    ...(gain === 1 ? [] : [`×\u00a0${plain(gain, 3)}`]),
    `${signed(offsetPct, 1)}\u00a0points`,
    ...(offsetC === 0 ? [] : [`${signed(offsetC, 1)}\u00a0°C`]),
  ];
  return gain === 1 && offsetPct === 0 && offsetC === 0 ? 'nothing changed' : parts.join(', ');
}

function Kept({ page, onKept }: { readonly page: CalibrationPage; readonly onKept: () => void }) {
  const sending = useSending();
  const takeBack = (one: Calibration) =>
    sending.send(async () => {
      await call('putCalibration', {
        params: { id: page.sensorId, entry: newId() },
        body: { kind: 'none', fromMs: one.fromMs, corrects: one.id, words: '' },
      });
      onKept();
    });
  return (
    <section aria-labelledby="kept">
      <h2 id="kept">Kept so far</h2>
      {page.calibrations.length === 0 ? (
        <p>Nothing yet: it is taken as it sends.</p>
      ) : (
        <Scroll labelledBy="kept">
          <table>
            <Heads of={['From', 'By', 'What it does', 'Entered', heard('Correct it')]} />
            <tbody>
              {page.calibrations.map((one) => (
                <tr key={one.id}>
                  <td>{moment(one.fromMs, timeZone)}</td>
                  <td>
                    {kinds[one.body.kind]}
                    {one.body.words !== '' && <span class="quiet"> {one.body.words}</span>}
                  </td>
                  <td>{lineWords(one)}</td>
                  <td>{shortDay(one.madeMs, timeZone)}</td>
                  <td>
                    {one.correctedBy ? (
                      <span class="quiet">taken back by a later entry</span>
                    ) : (
                      one.body.kind !== 'none' && (
                        <button
                          type="button"
                          class="link"
                          disabled={sending.busy}
                          onClick={() => void takeBack(one)}
                        >
                          Take it back<span class="unseen"> from {moment(one.fromMs, timeZone)}</span>
                        </button>
                      )
                    )}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      )}
      <p role="alert" class="trouble">
        {sending.trouble}
      </p>
      <p class="quiet">
        What it sent stays as it is. An entry is never changed: a later one takes its place, and moistures are
        worked out anew from its date.
      </p>
    </section>
  );
}

function BesideOffer({
  page,
  one,
  onKept,
}: {
  readonly page: CalibrationPage;
  readonly one: Beside;
  readonly onKept: () => void;
}) {
  const sending = useSending();
  const keep = () =>
    sending.send(async () => {
      await call('putCalibration', {
        params: { id: page.sensorId, entry: newId() },
        body: {
          kind: 'beside',
          otherId: one.otherId,
          besideFromMs: one.fromMs,
          besideUntilMs: one.untilMs,
          fromMs: one.fromMs,
          corrects: null,
          words: `beside ${one.otherUrn}`,
        },
      });
      onKept();
    });
  const done = page.calibrations.some(
    ({ body, correctedBy }) => body.kind === 'beside' && body.otherId === one.otherId && !correctedBy,
  );
  const little = Math.abs(one.offsetPct) < (2 * one.wanderPct) / Math.sqrt(one.hours);
  return (
    <li>
      <p>
        For {one.hours} hours since {moment(one.fromMs, timeZone)} it stood beside{' '}
        <code class="urn">{one.otherUrn}</code> and showed{' '}
        <strong>
          {plain(Math.abs(one.offsetPct), 1)} points {one.offsetPct < 0 ? 'more' : 'less'}
        </strong>{' '}
        (wandering by {plain(one.wanderPct, 1)} from hour to hour)
        {one.offsetC !== 0 &&
          `, and ${plain(Math.abs(one.offsetC), 1)} °C ${one.offsetC < 0 ? 'more' : 'less'}`}
        .{little && ' That is no more than chance.'}
      </p>
      {done ? (
        <p class="quiet">It is read like the other already.</p>
      ) : (
        <button type="button" class="button quiet" disabled={sending.busy} onClick={() => void keep()}>
          Read it like the other from then on
        </button>
      )}
      <p role="alert" class="trouble">
        {sending.trouble}
      </p>
    </li>
  );
}

export function CalibratePage() {
  const { params } = useRoute();
  const sensorId = params.id ?? '';
  const { answer, error } = useLive('sensorCalibrations', { params: { id: sensorId } });
  const [said, setSaid] = useState('');
  const page = answer.value;
  if (!page) {
    return (
      <Page title="Calibration" narrow>
        <Waiting error={error.value} what="the sensor" />
      </Page>
    );
  }
  const onKept = () => {
    setSaid('Kept. What rests on this sensor is worked out anew from that date.');
    void refresh();
  };
  return (
    <Page title="Calibration" narrow>
      <h1>Put a sensor right</h1>
      <p class="lead">
        <code class="urn">{page.urn}</code>
        {page.sent?.humidityPct != null && (
          <>
            {' '}
            sent {percent(page.sent.humidityPct, 1)} on {moment(page.sent.timeMs, timeZone)}.
          </>
        )}
      </p>
      <p class="quiet">
        Three points too many, unseen, fake more than a cent of drift. The list of what was said to this
        sensor is below.
      </p>
      <Stale error={error.value} />
      <p role="status">{said}</p>
      <div class="calibrate">
        {page.beside.length > 0 && (
          <section aria-labelledby="beside">
            <h2 id="beside">Beside another</h2>
            <ul>
              {page.beside.map((one) => (
                <BesideOffer key={`${one.otherId} ${one.fromMs}`} page={page} one={one} onKept={onKept} />
              ))}
            </ul>
          </section>
        )}
        <section aria-labelledby="jars">
          <h2 id="jars">By salt jars</h2>
          <Cautions sentences={page.cautions} />
          <SaltForm page={page} onKept={onKept} />
        </section>
        <Kept page={page} onKept={onKept} />
        <p>
          <a class="button quiet" href="/sensors">
            To the sensors
          </a>{' '}
          <a class="button quiet" href={`/sensors/doubts/${page.sensorId}`}>
            Its readings in doubt
          </a>
        </p>
      </div>
    </Page>
  );
}
