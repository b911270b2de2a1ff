/** A newer version waits: it takes over when asked, never while a visit is being written. */
import { signal } from '@preact/signals';
import { isBeingWritten, writing } from './being-written.ts';

const waiting = signal<ServiceWorker | null>(null);
/** Somebody wanted it while a visit was being written on another page. */
const notYet = signal(false);

function watch(registration: ServiceWorkerRegistration): void {
  const look = () => {
    // The first install has nothing to take over from.
    if (registration.waiting && navigator.serviceWorker.controller) waiting.value = registration.waiting;
  };
  look();
  registration.addEventListener('updatefound', () => {
    registration.installing?.addEventListener('statechange', look);
  });
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible') void registration.update().catch(() => undefined);
  });
}

export function registerWorker(): void {
  if (!('serviceWorker' in navigator) || import.meta.env.DEV) return;
  navigator.serviceWorker.register('/worker.js').then(watch, () => undefined);
}

async function takeOver(worker: ServiceWorker): Promise<void> {
  notYet.value = await isBeingWritten();
  if (notYet.value) return;
  const reload = () => window.location.reload();
  navigator.serviceWorker.addEventListener('controllerchange', reload, { once: true });
  worker.postMessage('take over');
  // Some browsers never say that it changed.
  setTimeout(reload, 5000);
}

export function NewVersion() {
  const worker = waiting.value;
  if (!worker || writing.value) return null;
  return (
    <p class="new-version" role="status">
      A newer version is ready.{' '}
      <button type="button" class="link" onClick={() => void takeOver(worker)}>
        Use it
      </button>
      {notYet.value && ' A visit is being written on another page: close it first, then use it.'}
    </p>
  );
}
