/** A fresh service: what to do, in order, from the first venue to the first reading in its place. */
import type { ComponentChildren } from 'preact';
import { useLive } from '../service/live.ts';
import { GatewayHelp } from './gateway-help.tsx';
import './settings.css';

interface Step {
  readonly title: string;
  readonly done: boolean;
  readonly words: string;
  readonly act: ComponentChildren;
}

export function FirstSteps() {
  const venues = useLive('venues', {}, 5000).answer.value ?? [];
  const rooms = useLive('rooms', {}, 5000).answer.value ?? [];
  const instruments = useLive('instruments', {}, 5000).answer.value ?? [];
  const { sensors = [], refused = [] } = useLive('sensors', {}, 5000).answer.value ?? {};
  const [venue] = venues;
  const [room] = rooms;
  const newcomer = sensors.find(({ placement }) => placement === null);
  const steps: Step[] = [
    {
      title: 'A venue',
      done: venue !== undefined,
      words: 'A school, a hall, a church or a home: where instruments stand, and by which clock.',
      act: <a href="/settings/venues/new">Enter a venue</a>,
    },
    {
      title: 'A room in it',
      done: room !== undefined,
      words: 'The air of a room is what the wood of its instruments follows.',
      act: <a href={`/settings/rooms/new?venue=${venue?.id ?? ''}`}>Enter a room</a>,
    },
    {
      title: 'An instrument',
      done: instruments.length > 0,
      words:
        'Its kind, its soundboard and what it is used for decide what it can bear and how exact it has to be.',
      act: <a href={`/settings/instruments/new?room=${room?.id ?? ''}`}>Enter an instrument</a>,
    },
    {
      title: 'A gateway, and a sensor that sends through it',
      done: sensors.length > 0,
      words: 'A sensor shows up here by itself as soon as its first reading has come in.',
      act: (
        <>
          {refused.some(({ seen }) => !seen) && (
            <p role="status">
              Something came in, but no reading could be made of it:{' '}
              <a href="/sensors">see why, and what helps</a>.
            </p>
          )}
          <GatewayHelp />
        </>
      ),
    },
    {
      title: 'A place for the sensor',
      done: sensors.some(({ placement }) => placement !== null),
      words: 'Say in which room it hangs, or inside which instrument it lies, and since when.',
      act: (
        <a href={newcomer ? `/sensors?place=${newcomer.id}` : '/sensors'}>
          {newcomer ? `Place ${newcomer.urn}` : 'To the sensors'}
        </a>
      ),
    },
  ];
  const present = steps.findIndex(({ done }) => !done);
  return (
    <>
      <h1>{venue ? 'Nearly there' : 'Nothing is watched yet'}</h1>
      <p class="lead">Five steps lead from here to the first sentence about an instrument.</p>
      <ol class="steps">
        {steps.map((step, i) => (
          <li
            key={step.title}
            class={step.done ? 'done' : undefined}
            aria-current={i === present ? 'step' : undefined}
          >
            <h2>
              {step.title}
              {step.done && <span class="quiet"> · done</span>}
            </h2>
            {!step.done && <p>{step.words}</p>}
            {i === present && <div class="step-act">{step.act}</div>}
          </li>
        ))}
      </ol>
    </>
  );
}
