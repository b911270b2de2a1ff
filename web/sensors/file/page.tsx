/** Brings in a logger's CSV file: picked, looked at as it would be read, then sent part by part. */
import { useEffect, useState } from 'preact/hooks';
import type { LoggerPreview, LoggerShape, Sensor, Venue } from '../../../server/contract/index.ts';
import { SelectField, TextField } from '../../form/field.tsx';
import { call } from '../../service/call.ts';
import { Refusal } from '../../service/fault.ts';
import { refresh, useLive } from '../../service/live.ts';
import { Page } from '../../shell/page.tsx';
import { Waiting } from '../../shell/waiting.tsx';
import { capital, count } from '../../words/numbers.ts';
import { moment } from '../../words/times.ts';
import { useBringing } from './bringing.ts';
import { useLookThrough } from './look-through.ts';
import { headOf, noText } from './parts.ts';
import { ShapeForm } from './shape-form.tsx';
import { BadLines, progressWords, Rows } from './shown.tsx';
import { winterOffset, zonesOf } from './zones.ts';
import './file.css';

function Bring({
  sensors,
  venues,
}: {
  readonly sensors: readonly Sensor[];
  readonly venues: readonly Venue[];
}) {
  const [file, setFile] = useState<File | null>(null);
  const [head, setHead] = useState('');
  const [preview, setPreview] = useState<LoggerPreview | null>(null);
  const [shape, setShape] = useState<LoggerShape | null>(null);
  const [sensorId, setSensorId] = useState('');
  const [named, setNamed] = useState('');
  const [fault, setFault] = useState<{ field: string; sentence: string } | null>(null);
  const [noSummer, setNoSummer] = useState<string | null>(null);
  /** What cuts its columns, where a person has said so: all else is guessed anew by it. */
  const [cut, setCut] = useState<LoggerShape['delimiter'] | undefined>(undefined);
  const bringing = useBringing();
  const { progress } = bringing;
  const zones = zonesOf(venues);
  const startZone = zones[0] ?? 'UTC';

  const pick = async (picked: File | undefined) => {
    bringing.forget();
    setPreview(null);
    setShape(null);
    setFault(null);
    setNoSummer(null);
    setCut(undefined);
    setFile(null);
    if (!picked) return;
    const why = await noText(picked);
    if (why !== null) return setFault({ field: '', sentence: why });
    setHead(await headOf(picked));
    setFile(picked);
    setNamed(picked.name.replace(/\.[^.]*$/, '').replaceAll(/[^A-Za-z0-9\-:./_]+/g, '-'));
  };
  const asked =
    head === '' || !file
      ? null
      : JSON.stringify({
          ...{ text: head, timeZone: preview?.shape.timeZone ?? startZone, delimiter: cut },
          ...(shape && { shape }),
        });
  useEffect(() => {
    if (asked === null) return;
    const stop = new AbortController();
    call('previewLoggerFile', { body: JSON.parse(asked) }, stop.signal).then(
      (found) => {
        setPreview(found);
        setFault(null);
      },
      (error: unknown) => {
        if (stop.signal.aborted) return;
        const [first] = error instanceof Refusal ? error.faults : [];
        setFault(first ?? { field: '', sentence: error instanceof Error ? error.message : String(error) });
      },
    );
    return () => stop.abort();
    // A logger's next file may begin as the one before.
  }, [asked, file]);

  const sensor = sensorId === '' ? named.trim() : (sensors.find(({ id }) => id === sensorId)?.urn ?? '');
  const busy = progress.state === 'under way';
  const chosen = shape ?? preview?.shape ?? null;
  const shownZone =
    zones.includes(chosen?.timeZone ?? '') && !/^UTC/.test(chosen?.timeZone ?? '')
      ? (chosen?.timeZone ?? startZone)
      : startZone;
  const changed = (next: LoggerShape) => {
    if (next.delimiter !== chosen?.delimiter) {
      setCut(next.delimiter);
      setShape(null);
      return;
    }
    setShape(next);
    // What the service has not looked at yet is shown as typed.
    setPreview(preview && { ...preview, shape: next });
  };
  const seen = useLookThrough(busy ? null : file, fault ? null : chosen);
  useEffect(() => {
    if (!seen || !chosen || seen.skippedHours === 0 || !chosen.timeZone.includes('/')) return;
    setNoSummer(chosen.timeZone);
    changed({ ...chosen, timeZone: winterOffset(chosen.timeZone) });
  }, [seen]);
  return (
    <form
      class="logger-file"
      onSubmit={(event) => {
        event.preventDefault();
        if (file && chosen && !busy) void bringing.start(file, sensor, chosen).then(() => refresh());
      }}
    >
      <div class="field wide">
        <label for="logger-file">The file</label>
        <input
          id="logger-file"
          type="file"
          accept=".csv,.txt,.tsv,text/csv,text/plain"
          disabled={busy}
          onChange={(event) => void pick(event.currentTarget.files?.[0])}
        />
      </div>
      {fault && fault.field !== 'shape.timeZone' && (
        <p role="alert" class="trouble">
          {fault.sentence}
        </p>
      )}
      {file && preview && (
        <>
          <fieldset disabled={busy}>
            <legend>Whose readings they are</legend>
            <div class="fields">
              <SelectField
                name="sensor"
                label="Sensor"
                value={sensorId}
                choices={[
                  ['', 'one not heard of yet'],
                  ...sensors.map(
                    ({ id, urn, placedAt }) =>
                      [id, placedAt === null ? urn : `${placedAt} (${urn})`] as const,
                  ),
                ]}
                onValue={setSensorId}
              />
              {sensorId === '' && (
                <TextField
                  name="named"
                  label="Its name"
                  hint="Letters, digits and - : . / _"
                  value={named}
                  onValue={setNamed}
                />
              )}
            </div>
          </fieldset>
          <fieldset disabled={busy}>
            <legend>How it is written</legend>
            <ShapeForm
              head={head}
              preview={preview}
              zones={zones}
              fault={
                fault?.field === 'shape.timeZone' ? fault.sentence.replace('shape.timeZone: ', '') : null
              }
              onChange={changed}
            />
          </fieldset>
          <section aria-labelledby="preview">
            <h2 id="preview">So it would be read</h2>
            {preview.rows.length > 0 ? (
              <>
                <p class="quiet">By the clock of {shownZone}.</p>
                <Rows preview={preview} timeZone={shownZone} />
              </>
            ) : (
              <p>No row of its beginning can be read like this.</p>
            )}
            {noSummer !== null && (
              <p>
                It has times in the hour that clocks of {noSummer} skip in spring: its clock is taken not to
                follow summer time.
              </p>
            )}
            {seen && (
              <p role="status">
                {capital(count(seen.rows, 'row'))} in all, up to{' '}
                {seen.lastMs === null ? 'no known time' : moment(seen.lastMs, shownZone)};{' '}
                {seen.badRows === 0
                  ? 'each can be read.'
                  : `${count(seen.badRows, 'line')} cannot be read whole.`}
              </p>
            )}
            {preview.refused.map(({ line, sentence }) => (
              <p key={line} class="quiet">
                Line {line}: {sentence}
              </p>
            ))}
          </section>
          <div class="submit-row">
            {!busy && (
              <button
                type="submit"
                class={progress.state === 'stopped' ? 'button quiet' : 'button'}
                disabled={preview.rows.length === 0 || sensor === ''}
              >
                {progress.state === 'at rest' ? 'Bring it in' : 'Bring it in again from the start'}
              </button>
            )}
            {progress.state === 'stopped' && (
              <button type="button" class="button" onClick={() => void bringing.goOn().then(() => refresh())}>
                Go on
              </button>
            )}
            {busy && (
              <button type="button" class="button quiet" onClick={bringing.pause}>
                Pause
              </button>
            )}
          </div>
          {progress.state !== 'at rest' && (
            <section aria-label="Progress">
              <progress
                max={Math.max(1, file.size)}
                value={progress.state === 'done' ? Math.max(1, file.size) : progress.doneBytes}
                aria-label="How much of the file is in"
              />
              <p role="status">
                {progress.state === 'done' && 'All of it is in. '}
                {progress.state === 'stopped' &&
                  (progress.trouble === ''
                    ? 'Paused. '
                    : `Stopped: ${progress.trouble} What is in stays in. `)}
                {progressWords(progress)}
              </p>
              <BadLines bad={progress.bad} total={progress.badRows} />
            </section>
          )}
        </>
      )}
    </form>
  );
}

export function LoggerFilePage() {
  const sensors = useLive('sensors', {}, 60_000);
  const venues = useLive('venues', {}, 60_000);
  return (
    <Page title="Logger file" narrow>
      <h1>Bring in a logger’s file</h1>
      <p class="lead">
        Any CSV file with a time and a humidity or a temperature. The same file again, or one that overlaps,
        stores nothing twice.
      </p>
      {sensors.answer.value && venues.answer.value ? (
        <Bring sensors={sensors.answer.value.sensors} venues={venues.answer.value} />
      ) : (
        <Waiting error={sensors.error.value ?? venues.error.value} what="the sensors" />
      )}
      <p>
        <a href="/sensors">To the sensors</a>
      </p>
    </Page>
  );
}
