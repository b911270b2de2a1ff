import { useSignal } from '@preact/signals';
import { useLocation } from 'preact-iso';
import type { InstrumentPage, Visit } from '../../server/contract/index.ts';
import { AreaField, CheckField, TextField } from '../form/field.tsx';
import { newId } from '../form/new-id.ts';
import { Segments } from '../form/segments.tsx';
import { useSending } from '../form/sending.ts';
import { Submit } from '../form/submit.tsx';
import { Cautions } from '../marks/cautions.tsx';
import { call } from '../service/call.ts';
import { refresh } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import { centsWithSd, hertz } from '../words/numbers.ts';
import { registerNames } from '../words/terms.ts';
import { longDay } from '../words/times.ts';
import { bodyOf } from './body.ts';
import { correctionOf, type Draft, dropDraft, freshDraft, keepDraft, rememberName } from './draft.ts';
import { PitchFields } from './pitch-fields.tsx';
import { recorded } from './recorded.ts';
import { workCautions } from './work-cautions.ts';

interface VisitFormProps {
  readonly instrument: InstrumentPage;
  /** The visit this one corrects. */
  readonly corrected: Visit | null;
  readonly begin: Draft;
  /** Whether `begin` was found on this device. */
  readonly kept: boolean;
}

function expectation({ registers }: InstrumentPage): string | null {
  const told = registers
    .filter(({ offsetCents }) => offsetCents !== null)
    .toSorted((a, b) => Math.abs(b.offsetCents ?? 0) - Math.abs(a.offsetCents ?? 0))
    .slice(0, 2)
    .map(
      ({ register, offsetCents, sdCents }) =>
        `the ${registerNames[register].toLowerCase()} near ${centsWithSd(offsetCents ?? 0, sdCents ?? 0)}`,
    );
  return told.length === 0 ? null : `Expect ${told.join(', ')}.`;
}

export function VisitForm({ instrument: i, corrected, begin, kept }: VisitFormProps) {
  const { route } = useLocation();
  const sending = useSending();
  const draft = useSignal(begin);
  const onDevice = useSignal<'kept' | 'not kept' | null>(kept ? 'kept' : null);
  const reallyDrop = useSignal(false);
  const key = corrected?.id ?? null;
  const set = (change: Partial<Draft>) => {
    draft.value = { ...draft.value, ...change };
    onDevice.value = keepDraft(draft.value, key) ? 'kept' : 'not kept';
  };
  const send = async () => {
    const body = bodyOf(draft.value, i.timeZone);
    await call('putVisit', { params: { id: draft.value.id }, body });
    rememberName(draft.value.by);
    dropDraft(i.id, key);
    recorded.value = { instrumentId: i.id, sentenceBefore: i.advice.sentence };
    await refresh();
    route(`/instruments/${i.id}`);
  };
  const drop = () => {
    dropDraft(i.id, key);
    draft.value = corrected ? correctionOf(corrected, i.timeZone) : freshDraft(i.id, i.timeZone);
    onDevice.value = null;
    reallyDrop.value = false;
  };
  const text = draft.value;
  const { faultOf } = sending;
  const expected = expectation(i);
  const cautions = workCautions(text, i.pitchStandardHz);
  const pitch = {
    scope: text.scope,
    unit: text.unit,
    standardHz: i.pitchStandardHz,
    faultOf: (field: string) => faultOf(field),
  };
  return (
    <Page title={`Visit to ${i.name}`} narrow>
      <p class="crumbs">
        {i.venueName} · {i.roomName} · <a href={`/instruments/${i.id}`}>{i.name}</a>
      </p>
      <h1>{corrected ? `Correct the visit of ${longDay(corrected.atMs, i.timeZone)}` : 'Visit'}</h1>
      <p class="lead">
        {corrected
          ? 'What was recorded stays; this takes its place.'
          : (expected ?? 'What is left empty was not measured.')}
      </p>
      <form
        ref={sending.form}
        class="visit-form"
        onSubmit={(event) => {
          event.preventDefault();
          void sending.send(send);
        }}
      >
        <div class="fields">
          <TextField
            name="atMs"
            type="datetime-local"
            label="When"
            value={text.at}
            fault={faultOf('atMs')}
            onValue={(at) => set({ at })}
          />
          <TextField
            name="by"
            label="By"
            maxLength={120}
            value={text.by}
            fault={faultOf('by')}
            onValue={(by) => set({ by })}
          />
        </div>
        <fieldset>
          <legend>Air at the piano</legend>
          <div class="fields">
            <TextField
              name="conditions.humidityPct"
              label="Humidity"
              unit="%"
              numeric
              value={text.humidity}
              fault={faultOf('conditions.humidityPct')}
              onValue={(humidity) => set({ humidity })}
            />
            <TextField
              name="conditions.temperatureC"
              label="Temperature"
              unit={`°${text.temperatureUnit}`}
              numeric
              value={text.temperature}
              fault={faultOf('conditions.temperatureC')}
              onValue={(temperature) => set({ temperature })}
            />
          </div>
        </fieldset>
        <div class="pitch-choices">
          <Segments
            legend="Pitch of"
            name="scope"
            value={text.scope}
            choices={[
              ['registers', 'each register'],
              ['A4', 'A4 alone'],
            ]}
            onChoose={(scope) => set({ scope })}
          />
          <Segments
            legend="read in"
            name="unit"
            value={text.unit}
            choices={[
              ['cents', 'cents'],
              ['Hz', 'Hz'],
            ]}
            onChoose={(unit) => set({ unit })}
          />
        </div>
        <p class="quiet">
          {text.unit === 'cents'
            ? `Cents from ${hertz(i.pitchStandardHz)}: flat is −, sharp is +.`
            : 'Hz of the note named beside each register.'}{' '}
          What was not measured stays empty.
        </p>
        <div class="sides">
          <PitchFields
            {...pitch}
            side="asFound"
            legend="As found"
            entries={text.found}
            onEntries={(found) => set({ found })}
          />
          <PitchFields
            {...pitch}
            side="asLeft"
            legend="As left"
            entries={text.left}
            onEntries={(left) => set({ left })}
          />
        </div>
        <Cautions sentences={cautions} />
        <fieldset>
          <legend>Spread within unisons</legend>
          <div class="fields">
            <TextField
              name="unisonsFoundCents"
              label="as found"
              unit="cents"
              numeric
              value={text.unisonsFound}
              fault={faultOf('unisonsFoundCents')}
              onValue={(unisonsFound) => set({ unisonsFound })}
            />
            <TextField
              name="unisonsLeftCents"
              label="as left"
              unit="cents"
              numeric
              value={text.unisonsLeft}
              fault={faultOf('unisonsLeftCents')}
              onValue={(unisonsLeft) => set({ unisonsLeft })}
            />
          </div>
          <p class="hint">The spread nine in ten unisons stay below; a few of the worst do not count.</p>
        </fieldset>
        <CheckField
          name="stringWork"
          label="Strings were replaced"
          hint="The time up to the next visit then says nothing about the wood, and is not learned from."
          checked={text.stringWork}
          onValue={(stringWork) => set({ stringWork })}
        />
        <div class="fields">
          <TextField
            name="minutes"
            label="Took"
            unit="min"
            numeric
            value={text.minutes}
            fault={faultOf('minutes')}
            onValue={(minutes) => set({ minutes })}
          />
        </div>
        <AreaField
          name="note"
          label="Note"
          maxLength={20_000}
          value={text.note}
          fault={faultOf('note')}
          onValue={(note) => set({ note })}
        />
        <Submit sending={sending} words={corrected ? 'Send the correction' : 'Send the visit'}>
          {sending.status === 409 && (
            <p>
              <button
                type="button"
                class="button quiet"
                onClick={() => {
                  set({ corrects: text.id, id: newId() });
                  void sending.send(send);
                }}
              >
                Send it as a correction of the first
              </button>
            </p>
          )}
          <p class="on-device quiet" role="status">
            {onDevice.value === 'kept' && 'On this device, not sent yet.'}
            {onDevice.value === 'not kept' &&
              'This browser keeps nothing: stay on this page until it is sent.'}
            {onDevice.value === 'kept' &&
              (reallyDrop.value ? (
                <>
                  {' '}
                  <button type="button" class="link" onClick={drop}>
                    Throw it away, yes
                  </button>{' '}
                  <button
                    type="button"
                    class="link"
                    onClick={() => {
                      reallyDrop.value = false;
                    }}
                  >
                    Keep it
                  </button>
                </>
              ) : (
                <>
                  {' '}
                  <button
                    type="button"
                    class="link"
                    onClick={() => {
                      reallyDrop.value = true;
                    }}
                  >
                    Throw it away
                  </button>
                </>
              ))}
          </p>
        </Submit>
      </form>
    </Page>
  );
}
