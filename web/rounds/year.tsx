/** The hours the coming year asks for, against the hours there are; printed as a plan or as a request to a venue. */
import { useSignal } from '@preact/signals';
import { useRef } from 'preact/hooks';
import type { YearPlan } from '../../server/contract/index.ts';
import { AreaField, SelectField, TextField } from '../form/field.tsx';
import { Segments } from '../form/segments.tsx';
import { useLive } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { capital, count, typed } from '../words/numbers.ts';
import { keepHours, keptHours } from './kept-hours.ts';
import { type Run, VenueWhatIf } from './venue-what-if.tsx';
import { YearBars } from './year-bars.tsx';
import { YearTable } from './year-table.tsx';
import { hours, requestWords, venuesOf } from './year-words.ts';
import './year.css';
import { heldIn } from '../form/parts.ts';

export function YearPage() {
  const typedHours = useSignal(keptHours());
  /** What was shown last stays until the next is there: a change of hours does not empty the page. */
  const last = useRef<YearPlan | null>(null);
  const asked = typed(typedHours.value);
  const readable = asked !== null && asked >= 0 && asked <= 744;
  // While best dates are still being worked out it is asked again soon.
  const soon = (last.current?.pending ?? 1) > 0;
  const { answer, error } = useLive(
    'yearPlan',
    { query: readable ? { hours: Math.round(asked) } : {} },
    soon ? 1000 : 300_000,
  );
  if (answer.value) last.current = answer.value;
  const plan = last.current;
  if (!plan) {
    return (
      <Page title="The coming year">
        <Waiting error={error.value} what="the coming year" />
      </Page>
    );
  }
  return (
    <Page title="The coming year">
      <p class="crumbs off-paper">
        <a href="/rounds">Rounds</a>
      </p>
      <Year
        plan={plan}
        hoursText={typedHours.value}
        fault={readable ? null : 'A number of hours from 0 to 744 is needed here.'}
        onHours={(value) => {
          typedHours.value = value;
          keepHours(value);
        }}
        error={error.value}
      />
    </Page>
  );
}

interface YearProps {
  readonly plan: YearPlan;
  readonly hoursText: string;
  readonly fault: string | null;
  readonly onHours: (value: string) => void;
  readonly error: Error | null;
}

type Sheet = 'plan' | 'hours' | 'control';

function Year({ plan, hoursText, fault, onHours, error }: YearProps) {
  const venues = venuesOf(plan);
  const venueId = useSignal('');
  const sheet = useSignal<Sheet>('plan');
  const words = useSignal('');
  const run = useSignal<Run | null>(null);
  const chosen = venues.find((one) => one.venueId === venueId.value) ?? null;
  const [largest] = venues;
  const total = plan.months.reduce((sum, one) => sum + one.hours, 0);
  const venue = chosen ?? largest;
  // What goes to one venue tells nothing of the others.
  const months = sheet.value === 'plan' || !venue ? plan.months : onlyOf(plan.months, venue.venueId);
  const apart = sheet.value === 'plan' ? chosen : null;
  const byDates = plan.instruments.filter(({ by }) => by === 'best dates').length;
  const ready = sheet.value !== 'control' || (venue && run.value?.venueId === venue.venueId);
  return (
    <div class={`year sheet-${sheet.value}`}>
      <h1>{headingOf(sheet.value, total, venue?.venueName)}</h1>
      {words.value.trim() !== '' && <p class="own-words">{words.value}</p>}
      {sheet.value !== 'plan' && venue && <p class="lead request">{requestWords(plan, venue)}</p>}
      <div class="plan-words">
        {plan.sentences.map((sentence) => (
          <p key={sentence}>{sentence}</p>
        ))}
      </div>
      <Stale error={error} />
      <div class="fields off-paper year-choices">
        <TextField
          name="hours"
          label="There are, each month"
          unit="hours"
          numeric
          value={hoursText}
          fault={fault}
          onValue={onHours}
        />
        <SelectField
          name="venue"
          label="Show apart"
          {...heldIn(venueId)}
          choices={[['', 'all venues'], ...venues.map((one) => [one.venueId, one.venueName] as const)]}
        />
      </div>
      <figure class="year-figure">
        <YearBars months={months} venueId={apart?.venueId ?? ''} />
        <figcaption class="quiet">
          Hours a month. {apart && `In blue ${apart.venueName}, in grey the other venues. `}
          {(months[1]?.available ?? 0) > 0 &&
            'The line, where it is in reach: the hours there are, of this month only what is left. '}
          {sheet.value === 'plan' &&
            `${capital(count(byDates, 'instrument'))} of ${plan.instruments.length} stand at the best dates of their forecasts, the others at the interval usual for their use. `}
          <span role="status">
            {sheet.value === 'plan' &&
              plan.pending > 0 &&
              `Best dates of ${plan.pending} more are being worked out.`}
          </span>
        </figcaption>
      </figure>
      <YearTable months={months} venue={apart} />
      {venue && venue.instruments > 0 && <VenueWhatIf plan={plan} venue={venue} run={run} />}
      <section class="off-paper print-choices">
        <h2>On paper</h2>
        <Segments
          legend="Print it as"
          name="sheet"
          value={sheet.value}
          choices={[
            ['plan', 'the plan'],
            ['hours', 'a request for hours'],
            ['control', 'a request for humidity control'],
          ]}
          onChoose={(next) => {
            sheet.value = next;
            if (next !== 'plan' && venueId.value === '' && largest) venueId.value = largest.venueId;
          }}
        />
        <AreaField name="words" label="Words of your own before it" maxLength={2000} {...heldIn(words)} />
        <p>
          <button type="button" class="button" disabled={!ready} onClick={() => window.print()}>
            Print it
          </button>
          {!ready && (
            <span class="quiet">
              {' '}
              Work out first, above, what humidity control would change at {venue?.venueName}.
            </span>
          )}
        </p>
      </section>
    </div>
  );
}

const onlyOf = (months: YearPlan['months'], venueId: string): YearPlan['months'] =>
  months.map(({ month, venues }) => {
    const own = venues.filter((one) => one.venueId === venueId);
    return { month, venues: own, hours: own.reduce((sum, one) => sum + one.hours, 0), available: 0 };
  });

function headingOf(sheet: Sheet, total: number, venueName = ''): string {
  if (sheet === 'hours') return `Request for hours: ${venueName}`;
  if (sheet === 'control') return `Request for humidity control: ${venueName}`;
  return `${capital(hours(total))} in the coming year`;
}
