/** Salt jars, step by step: which salts, how long to wait, what the sensor showed; what it comes to is seen before it is kept. */
import { useEffect, useState } from 'preact/hooks';
import type { CalibrationPage, SaltAt, SaltName, SaltPoint, SaltTrial } from '../../server/contract/index.ts';
import { Entries } from '../form/entries.ts';
import { SelectField, TextField } from '../form/field.tsx';
import { newId } from '../form/new-id.ts';
import { partsOf } from '../form/parts.ts';
import { SendForm } from '../form/send-form.tsx';
import { useSending } from '../form/sending.ts';
import { Submit } from '../form/submit.tsx';
import { Heads, number } from '../marks/heads.tsx';
import { Scroll } from '../marks/scroll.tsx';
import { call } from '../service/call.ts';
import { useLive } from '../service/live.ts';
import { percent, plain, signed, typed } from '../words/numbers.ts';
import { fromInput, toInput } from '../words/zoned.ts';

const timeZone = Intl.DateTimeFormat().resolvedOptions().timeZone;

const saltNames: Readonly<Record<SaltName, string>> = {
  MgCl2: 'magnesium chloride',
  NaCl: 'sodium chloride, table salt without additives',
  K2CO3: 'potassium carbonate',
  NaBr: 'sodium bromide',
  KCl: 'potassium chloride',
  K2SO4: 'potassium sulphate',
  LiCl: 'lithium chloride (poisonous)',
};
const order: readonly SaltName[] = ['MgCl2', 'NaCl', 'K2CO3', 'NaBr', 'KCl', 'K2SO4', 'LiCl'];

interface Jar {
  readonly salt: SaltName;
  readonly temperature: string;
  readonly reading: string;
}

function Steps() {
  return (
    <ol class="jar-steps">
      <li>
        Take two salts or more that lie on either side of the humidities you care about: magnesium chloride
        (about 33 %) and sodium chloride (about 75 %) do for most rooms; potassium carbonate (43 %) between
        them shows mistakes.
      </li>
      <li>
        Stir each with a little water to a slush in a small closed jar; solid salt must stay visible. Hang the
        sensor over it, clear of the slush and the walls.
      </li>
      <li>
        Keep the jar at one temperature, away from sun and radiators. Wait until what the sensor sends has
        moved by no more than 0.2 points in an hour: a night is safe, wet after dry takes longest (common
        practice). Go from dry to wet.
      </li>
      <li>Write down what it sends then, and the temperature of the jar.</li>
    </ol>
  );
}

interface JarRowProps {
  readonly jar: Jar;
  readonly number: number;
  readonly faultOf: (field: string) => string | null;
  readonly sentPct: number | null;
  readonly onChange: (jar: Jar) => void;
  readonly onRemove: (() => void) | null;
}

function JarRow({ jar, number, faultOf, sentPct, onChange, onRemove }: JarRowProps) {
  const degrees = typed(jar.temperature);
  const asked = degrees !== null && degrees >= 15 && degrees <= 30 ? degrees : null;
  const salts = useLive('saltJars', asked === null ? null : { query: { temperatureC: asked } }, 3_600_000);
  const part = partsOf(jar, onChange);
  const stands: SaltAt | undefined = salts.answer.value?.find(({ salt }) => salt === jar.salt);
  return (
    <fieldset class="jar">
      <legend>Jar {number}</legend>
      <div class="fields">
        <SelectField
          {...part('salt')}
          name={`points.${number - 1}.salt`}
          label="Salt"
          choices={order.map((salt) => [salt, saltNames[salt]])}
        />
        <TextField
          {...part('temperature')}
          name={`points.${number - 1}.temperatureC`}
          label="Temperature of the jar"
          unit="°C"
          numeric
          hint={
            stands
              ? `It holds ${percent(stands.humidityPct, 1)} (± ${plain(stands.uncertaintyPct, 1)})`
              : '15 to 30 °C'
          }
          fault={faultOf(`points.${number - 1}.temperatureC`)}
        />
        <TextField
          {...part('reading')}
          name={`points.${number - 1}.readingPct`}
          label="The sensor sent"
          unit="%"
          numeric
          fault={faultOf(`points.${number - 1}.readingPct`)}
        />
      </div>
      <p class="jar-acts">
        {sentPct !== null && (
          <button type="button" class="link" onClick={() => onChange({ ...jar, reading: plain(sentPct, 1) })}>
            Take what it sends now ({percent(sentPct, 1)})<span class="unseen"> for jar {number}</span>
          </button>
        )}
        {onRemove && (
          <button type="button" class="link" onClick={onRemove}>
            Leave out<span class="unseen"> jar {number}</span>
          </button>
        )}
      </p>
    </fieldset>
  );
}

const errorWords = (error: number, at: number): string =>
  `${plain(Math.abs(error), 1)} points too ${error < 0 ? 'low' : 'high'} at ${percent(at)}`;

function Trial({ trial }: { readonly trial: SaltTrial }) {
  return (
    <div class="trial">
      <p>
        As it is, the sensor shows {errorWords(trial.errorLowPct, trial.fromPct)} and{' '}
        {errorWords(trial.errorHighPct, trial.toPct)}. It will be read as {plain(trial.gain, 3)} × what it
        sends {trial.offsetPct < 0 ? '−' : '+'} {plain(Math.abs(trial.offsetPct), 1)}, good to ±{' '}
        {plain(trial.doubtPct, 1)} points between the jars.
      </p>
      {trial.points.length > 2 && (
        <Scroll label="How the points lie on the line">
          <table>
            <Heads of={[number('The jar holds'), number('The line says'), number('apart')]} />
            <tbody>
              {trial.points.map(({ truePct, residualPct }) => (
                <tr key={truePct}>
                  <td class="n">{percent(truePct, 1)}</td>
                  <td class="n">{percent(truePct + residualPct, 1)}</td>
                  <td class="n">{signed(residualPct, 1)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      )}
      {trial.sentences.map((sentence) => (
        <p key={sentence}>{sentence}</p>
      ))}
    </div>
  );
}

/** Points where every field can be read; null while one cannot. */
function pointsOf(jars: readonly Jar[]): SaltPoint[] | null {
  const points = jars.map(({ salt, temperature, reading }) => ({
    salt,
    temperatureC: typed(temperature) ?? Number.NaN,
    readingPct: typed(reading) ?? Number.NaN,
  }));
  return points.every(
    ({ temperatureC, readingPct }) =>
      temperatureC >= 15 && temperatureC <= 30 && readingPct >= -20 && readingPct <= 120,
  )
    ? points
    : null;
}

export function SaltForm({ page, onKept }: { readonly page: CalibrationPage; readonly onKept: () => void }) {
  const sending = useSending();
  const sentC = page.sent?.temperatureC ?? null;
  const startC = sentC !== null && sentC >= 15 && sentC <= 30 ? plain(sentC, 1) : '20';
  const [jars, setJars] = useState<readonly Jar[]>([
    { salt: 'MgCl2', temperature: startC, reading: '' },
    { salt: 'NaCl', temperature: startC, reading: '' },
  ]);
  const [since, setSince] = useState(() => toInput(Date.now(), timeZone));
  const [entry, setEntry] = useState(newId);
  const [trial, setTrial] = useState<{ trial: SaltTrial | null; trouble: string }>({
    trial: null,
    trouble: '',
  });
  const points = pointsOf(jars);
  const asked = points && JSON.stringify(points);
  useEffect(() => {
    if (asked === null) {
      setTrial({ trial: null, trouble: '' });
      return;
    }
    const stop = new AbortController();
    call('trySaltPoints', { body: { points: JSON.parse(asked) } }, stop.signal).then(
      (found) => setTrial({ trial: found, trouble: '' }),
      (error: unknown) => {
        if (!stop.signal.aborted)
          setTrial({ trial: null, trouble: error instanceof Error ? error.message : String(error) });
      },
    );
    return () => stop.abort();
  }, [asked]);

  const setJar = (at: number, jar: Jar) => setJars(jars.map((one, i) => (i === at ? jar : one)));
  const save = async () => {
    const entries = new Entries();
    const read = jars.map(({ salt, temperature, reading }, i) => ({
      salt,
      temperatureC: entries.needed(`points.${i}.temperatureC`, temperature),
      readingPct: entries.needed(`points.${i}.readingPct`, reading),
    }));
    const fromMs = fromInput(since, timeZone);
    if (fromMs === null) entries.fault('fromMs', 'A day and a time are needed here.');
    entries.check();
    await call('putCalibration', {
      params: { id: page.sensorId, entry },
      body: { kind: 'salt', points: read, fromMs: fromMs ?? 0, corrects: null, words: '' },
    });
    setEntry(newId());
    onKept();
  };
  return (
    <SendForm sending={sending} class="salt-form" label="Salt jars" onSend={save}>
      <Steps />
      {jars.map((jar, i) => (
        <JarRow
          key={i}
          jar={jar}
          number={i + 1}
          sentPct={page.sent?.humidityPct ?? null}
          faultOf={sending.faultOf}
          onChange={(next) => setJar(i, next)}
          onRemove={jars.length > 2 ? () => setJars(jars.filter((_, at) => at !== i)) : null}
        />
      ))}
      <p>
        <button
          type="button"
          class="button quiet"
          onClick={() => setJars([...jars, { salt: 'K2CO3', temperature: startC, reading: '' }])}
        >
          Another jar
        </button>
      </p>
      {trial.trouble !== '' && <p class="urgent">{trial.trouble}</p>}
      {trial.trial && <Trial trial={trial.trial} />}
      <TextField
        name="fromMs"
        type="datetime-local"
        label="Readings are put right from"
        hint="By the clock of this device. Usually now; earlier only where you know that it was as far out then."
        value={since}
        fault={sending.faultOf('fromMs')}
        onValue={setSince}
      />
      <Submit sending={sending} words="Keep this calibration" />
      <p class="quiet">
        Humidities of the salts after Greenspan (1977), as in OIML R 121. The sensor’s own words count, before
        any earlier correction.
      </p>
    </SendForm>
  );
}
