/** The coming days at a venue, typed from any forecast, and what their frost would do. */
import { useSignal } from '@preact/signals';
import { useRoute } from 'preact-iso';
import type { VenueWeather } from '../../server/contract/index.ts';
import { Entries } from '../form/entries.ts';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { Submit } from '../form/submit.tsx';
import { Cautions } from '../marks/cautions.tsx';
import { Said } from '../marks/said.tsx';
import { Scroll } from '../marks/scroll.tsx';
import { call } from '../service/call.ts';
import { refresh, useLive } from '../service/live.ts';
import { MissingPage } from '../shell/missing.tsx';
import { Page } from '../shell/page.tsx';
import { Waiting } from '../shell/waiting.tsx';
import { percent, plain } from '../words/numbers.ts';
import { inUnit, temperatureUnit, toC } from '../words/temperature.ts';
import { dayMs } from '../words/times.ts';
import './rooms.css';
import { Heads, number } from '../marks/heads.tsx';

export function WeatherPage() {
  const { params } = useRoute();
  const venues = useLive('venues', {}).answer.value;
  const { answer, error } = useLive('venueWeather', { params: { id: params.id ?? '' } }, 60_000);
  const venue = venues?.find(({ id }) => id === params.id);
  if (venues && !venue) return <MissingPage />;
  if (!venue || !answer.value) {
    return (
      <Page title="Weather to come" narrow>
        <Waiting error={error.value} what="the weather" />
      </Page>
    );
  }
  return (
    <Page title={`Weather to come, ${venue.name}`} narrow>
      <p class="crumbs">
        <a href="/rooms">Rooms</a> · {venue.name}
      </p>
      <Frost weather={answer.value} />
      <WeatherForm key={answer.value.today} venueId={venue.id} weather={answer.value} />
    </Page>
  );
}

function Frost({ weather: { frost, days } }: { readonly weather: VenueWeather }) {
  if (!frost) {
    return (
      <>
        <h1>Weather to come</h1>
        <p class="lead">
          {days.length < 2
            ? 'Type the coming days from any forecast: a frost is then told before it comes, with the pianos it would dry most.'
            : 'Nothing in these days would dry the pianos more than they bear.'}
        </p>
      </>
    );
  }
  return (
    <>
      <h1>
        <Said sentence={frost.what} />
      </h1>
      <p class="lead">{frost.toDo}</p>
      <Cautions sentences={frost.cautions} />
      <h2>Pianos, those that can bear least first</h2>
      <Scroll label="Pianos by what they can bear">
        <table>
          <Heads of={['Piano', number('Now'), number('Expected'), number('Of what its board bears')]} />
          <tbody>
            {frost.pianos.map((one) => (
              <tr key={one.place}>
                <th scope="row">{one.place}</th>
                <td class="n">{percent(one.humidityPct)}</td>
                <td class="n">{percent(one.expectedPct)}</td>
                <td class="n">{percent(100 * one.dryShare)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
    </>
  );
}

const quantities = [
  ['lowC', 'low'],
  ['highC', 'high'],
  ['dewPointC', 'dew point'],
] as const;
type Typed = Record<(typeof quantities)[number][0], string>;
const shownDays = 6;

const dayWords = new Intl.DateTimeFormat('en-GB', {
  weekday: 'short',
  day: 'numeric',
  month: 'short',
  timeZone: 'UTC',
});

function WeatherForm({ venueId, weather }: { readonly venueId: string; readonly weather: VenueWeather }) {
  const sending = useSending();
  const saved = useSignal(false);
  const firstMs = Date.parse(weather.today);
  const shown = (value: number | undefined) => (value === undefined ? '' : plain(inUnit(value)));
  const rows = useSignal(
    Array.from({ length: shownDays }, (_, i) => {
      const day = new Date(firstMs + i * dayMs).toISOString().slice(0, 10);
      const known = weather.days.find((one) => one.day === day);
      const typed: Typed = {
        lowC: shown(known?.lowC),
        highC: shown(known?.highC),
        dewPointC: shown(known?.dewPointC),
      };
      return { day, typed };
    }),
  );
  const set = (row: number, change: Partial<Typed>) => {
    saved.value = false;
    rows.value = rows.value.map((one, i) =>
      i === row ? { ...one, typed: { ...one.typed, ...change } } : one,
    );
  };
  const save = async () => {
    const entries = new Entries();
    const days = rows.value.flatMap(({ day, typed }, row) => {
      if (Object.values(typed).every((text) => text.trim() === '')) return [];
      const of = (key: keyof Typed) => toC(entries.needed(`days.${row}.${key}`, typed[key]));
      return [{ day, lowC: of('lowC'), highC: of('highC'), dewPointC: of('dewPointC') }];
    });
    if (days.length === 0) entries.fault('days.0.lowC', 'Type at least one day.');
    entries.check();
    await call('postWeather', { body: { venueId, days } });
    await refresh();
    saved.value = true;
  };
  return (
    <SendForm sending={sending} class="room-section" onSend={save}>
      <h2>The coming days</h2>
      <p class="quiet">
        In °{temperatureUnit.value}, from any forecast. The dew point says what the air outside holds, however
        warm it gets. A program can send the same to <code>POST /api/weather</code>.
      </p>
      <table class="weather-days">
        <thead>
          <tr>
            <th scope="col">Day</th>
            {quantities.map(([key, words]) => (
              <th key={key} scope="col">
                {words}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.value.map(({ day, typed }, row) => {
            const fault = quantities
              .map(([key]) => sending.faultOf(`days.${row}.${key}`))
              .find((one) => one !== null);
            return (
              <tr key={day}>
                <th scope="row">
                  {dayWords.format(Date.parse(day))}
                  {fault && <p class="fault">{fault}</p>}
                </th>
                {quantities.map(([key, words]) => (
                  <td key={key}>
                    <input
                      class="number"
                      name={`days.${row}.${key}`}
                      inputMode="text"
                      autocomplete="off"
                      aria-label={`${words}, ${dayWords.format(Date.parse(day))}`}
                      aria-invalid={sending.faultOf(`days.${row}.${key}`) ? 'true' : undefined}
                      value={typed[key]}
                      onInput={(event) => set(row, { [key]: event.currentTarget.value })}
                    />
                  </td>
                ))}
              </tr>
            );
          })}
        </tbody>
      </table>
      <Submit sending={sending} words="Save the weather" back="/rooms">
        {saved.value && (
          <p role="status" class="quiet">
            Saved; what it means stands above.
          </p>
        )}
      </Submit>
    </SendForm>
  );
}
