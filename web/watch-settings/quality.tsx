/** How good the watch is: how much it says, where it repeats itself, what stays open, and whether it led to anything. */
import { useSignal } from '@preact/signals';
import type { WatchQuality } from '../../server/contract/index.ts';
import { Segments } from '../form/segments.tsx';
import { Scroll } from '../marks/scroll.tsx';
import { useLive } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import { Stale, Waiting } from '../shell/waiting.tsx';
import { capital, count, nbsp, percent, plain } from '../words/numbers.ts';
import { ruleWord } from '../words/rules.ts';
import './watch-settings.css';
import { Heads, number } from '../marks/heads.tsx';

type Window = '30' | '90' | '365';

export function QualityPage() {
  const days = useSignal<Window>('365');
  const { answer, error } = useLive('watchQuality', { query: { days: Number(days.value) } }, 60_000);
  const quality = answer.value;
  return (
    <Page title="How good the watch is">
      <p class="crumbs">
        <a href="/settings">Settings</a> · <a href="/settings/watch">The watch</a>
      </p>
      {quality ? (
        <>
          <h1>{headingOf(quality)}</h1>
          <p class="lead">{leadOf(quality)}</p>
          <Stale error={error.value} />
        </>
      ) : (
        <Waiting error={error.value} what="how good the watch is" />
      )}
      <div class="where">
        <Segments
          legend="Of the past"
          name="days"
          value={days.value}
          choices={[
            ['30', '30 days'],
            ['90', '90 days'],
            ['365', 'year'],
          ]}
          onChoose={(next) => {
            days.value = next;
          }}
        />
      </div>
      {quality && <Tables quality={quality} />}
    </Page>
  );
}

function headingOf({ noticesPerInstrumentMonth: rate, byRule }: WatchQuality): string {
  if (byRule.length === 0) return 'The watch has said nothing';
  if (rate < 0.05) return 'The watch says very little';
  return `${plain(rate, rate < 1 ? 2 : 1)} notices a month for each instrument`;
}

function share(byRule: WatchQuality['byRule'], of: 'acknowledgedShare' | 'workShare'): number {
  const all = byRule.reduce((sum, one) => sum + one.count, 0);
  return all === 0 ? 0 : byRule.reduce((sum, one) => sum + one[of] * one.count, 0) / all;
}

function leadOf({ byRule, days, instruments }: WatchQuality): string {
  const all = byRule.reduce((sum, one) => sum + one.count, 0);
  const said = `${capital(count(all, 'notice'))} in ${days}${nbsp}days over ${count(instruments, 'instrument')}.`;
  if (all === 0) return said;
  return `${said} ${percent(100 * share(byRule, 'acknowledgedShare'))} were acknowledged, ${percent(100 * share(byRule, 'workShare'))} led to work.`;
}

function Tables({ quality }: { readonly quality: WatchQuality }) {
  const { byRule, flapping, stale } = quality;
  return (
    <>
      {byRule.length > 0 && (
        <section class="quality" aria-labelledby="by-rule">
          <h2 id="by-rule">Most frequent</h2>
          <Scroll labelledBy="by-rule">
            <table>
              <Heads
                of={[
                  'It found',
                  number('Notices'),
                  number('a month and instrument'),
                  number('acknowledged'),
                  number('led to work'),
                ]}
              />
              <tbody>
                {byRule.map((one) => (
                  <tr key={one.rule}>
                    <th scope="row">{capital(ruleWord(one.rule))}</th>
                    <td class="n">{one.count}</td>
                    <td class="n">{plain(one.perInstrumentMonth, 3)}</td>
                    <td class="n">{percent(100 * one.acknowledgedShare)}</td>
                    <td class="n">{percent(100 * one.workShare)}</td>
                  </tr>
                ))}
              </tbody>
            </table>
          </Scroll>
        </section>
      )}
      <section class="quality" aria-labelledby="flapping">
        <h2 id="flapping">Begun again within a week of their end</h2>
        {flapping.length === 0 ? (
          <p class="quiet">None: nothing comes and goes.</p>
        ) : (
          <>
            <ul>
              {flapping.map((one) => (
                <li key={`${one.rule} ${one.place}`}>
                  {one.place}: {ruleWord(one.rule)}, {count(one.count, 'time')}
                </li>
              ))}
            </ul>
            <p class="quiet">
              An end threshold farther from its begin, or a longer least duration, calms them.
            </p>
          </>
        )}
      </section>
      <section class="quality" aria-labelledby="stale">
        <h2 id="stale">Open for more than 30 days</h2>
        {stale.length === 0 ? (
          <p class="quiet">None.</p>
        ) : (
          <ul>
            {stale.map((one) => (
              <li key={`${one.rule} ${one.place}`}>
                {one.place}: {ruleWord(one.rule)}, {one.days}
                {nbsp}days
              </li>
            ))}
          </ul>
        )}
      </section>
    </>
  );
}
