import { useLocation } from 'preact-iso';
import { UnsentCount } from '../device/unsent-count.tsx';
import { useLive } from '../service/live.ts';
import { nowMs } from '../service/now.ts';
import { lasting } from '../words/times.ts';

const places = [
  ['/', 'Rounds'],
  ['/instruments', 'Instruments'],
  ['/rooms', 'Rooms'],
  ['/device', 'Visits'],
  ['/sensors', 'Sensors'],
  ['/people', 'People'],
  ['/settings', 'Settings'],
] as const;

function isHere(path: string, place: string): boolean {
  // Weather, task links and events are gone to from the rooms.
  if (place === '/rooms') return /^\/(rooms|events|venues)(\/|$)/.test(path);
  // What the watch has found is gone to from the rounds, which an address of their own leads to as well.
  if (place === '/') return path === '/' || /^\/(rounds|notices)(\/|$)/.test(path);
  return path.startsWith(place);
}

function Age() {
  const health = useLive('health', {});
  const lastMs = health.answer.value?.lastReadingMs;
  if (health.error.value) return <p class="age urgent">No connection to the service</p>;
  if (lastMs === undefined) return <p class="age" />;
  if (lastMs === null) return <p class="age">no readings yet</p>;
  return <p class="age">readings {lasting(nowMs.value - lastMs)} old</p>;
}

export function Header() {
  const { path } = useLocation();
  return (
    <header class="masthead">
      <a class="skip" href="#page">
        To the page
      </a>
      <a class="wordmark" href="/" aria-label="crownwatch, to the rounds">
        <svg viewBox="0 0 32 20" width="32" height="20" aria-hidden="true">
          <path d="M3 13C10 2 22 2 29 13" />
          <path class="rib" d="M9 18V11.5M16 18V9M23 18V11.5" />
        </svg>
        crownwatch
      </a>
      <nav aria-label="Pages">
        {places.map(([place, name]) => (
          <a key={place} href={place} aria-current={isHere(path, place) ? 'page' : undefined}>
            {name}
            {place === '/device' && <UnsentCount />}
          </a>
        ))}
      </nav>
      <Age />
    </header>
  );
}
