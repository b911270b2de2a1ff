/** Work done, and the service of a humidity control. Cautions stand where the work is named. */
import { controlParts, controlStates, type JobId, jobIds, jobOf } from '../../server/contract/index.ts';
import { SelectLine, TextLine } from '../form/line.tsx';
import { Cautions } from '../marks/cautions.tsx';
import { faultAt, type Sheet } from './sheet-context.ts';

const often: readonly JobId[] = [
  'tuning',
  'pitch-raise',
  'regulation-touch-up',
  'voicing',
  'key-easing',
  'cleaning',
];

export function WorkDone({ sheet }: { readonly sheet: Sheet }) {
  const { draft, change } = sheet;
  const done = (job: string) => draft.workDone.some((one) => one.job === job);
  const toggle = (job: JobId) =>
    change(jobOf(job).name, (now) => ({
      ...now,
      workDone: done(job)
        ? now.workDone.filter((one) => one.job !== job)
        : [...now.workDone, { job, minutes: '' }],
    }));
  const cautions = draft.workDone.flatMap(({ job }) => jobOf(job as JobId).caution ?? []);
  return (
    <section aria-labelledby="work-done">
      <h2 id="work-done">Work done</h2>
      <fieldset class="chips">
        <legend class="unseen">Often done</legend>
        {often.map((job) => (
          <button key={job} type="button" aria-pressed={done(job)} onClick={() => toggle(job)}>
            {jobOf(job).name}
          </button>
        ))}
      </fieldset>
      <SelectLine
        label="Other work"
        value=""
        choices={[
          ['', 'choose'],
          ...jobIds
            .filter((job) => !done(job) && !often.includes(job))
            .map((job) => [job, jobOf(job).name] as const),
        ]}
        onValue={(job) => {
          if (job !== '') toggle(job);
        }}
      />
      {draft.workDone.map(({ job, minutes }) => (
        <TextLine
          key={job}
          label={`${jobOf(job as JobId).name} took`}
          keys="numeric"
          unit="min"
          value={minutes}
          fault={faultAt(sheet, `work.${job}`)}
          onValue={(text) =>
            change(
              'minutes',
              (now) => ({
                ...now,
                workDone: now.workDone.map((one) => (one.job === job ? { ...one, minutes: text } : one)),
              }),
              `work.${job}`,
            )
          }
        />
      ))}
      <Cautions sentences={[...new Set(cautions)]} />
    </section>
  );
}

export function ControlService({ sheet }: { readonly sheet: Sheet }) {
  const { draft, change } = sheet;
  const set = (part: string, state: string, action: string, field = '') =>
    change(
      `humidity control: ${part}`,
      (now) => {
        const { [part]: _before, ...others } = now.control;
        return { ...now, control: state === '' ? others : { ...others, [part]: { state, action } } };
      },
      field,
    );
  return (
    <details class="control">
      <summary>
        <h2>Humidity control</h2>
      </summary>
      <Cautions
        sentences={[
          'Unplug before filling or opening it, and keep water from mains. Then plug in again and see that it runs. Damaged cables are for a licensed electrician.',
        ]}
      />
      {controlParts.map((part) => {
        const { state = '', action = '' } = draft.control[part] ?? {};
        return (
          <div class="line" key={part}>
            <label>
              <span>{part}</span>
              <select value={state} onChange={(event) => set(part, event.currentTarget.value, action)}>
                <option value="">not looked at</option>
                {controlStates
                  .filter((one) => one !== 'not examined')
                  .map((one) => (
                    <option key={one}>{one}</option>
                  ))}
              </select>
            </label>
            {state !== '' && (
              <input
                type="text"
                maxLength={400}
                aria-label={`${part}: what was done`}
                placeholder="what was done"
                value={action}
                onInput={(event) => set(part, state, event.currentTarget.value, `control.${part}`)}
              />
            )}
          </div>
        );
      })}
    </details>
  );
}
