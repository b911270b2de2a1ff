/**
 * The page without a signal: everything built is kept with the install, and pages open from it. A new version waits
 * until it is told to take over; the set before is kept, since an old page may still be open.
 */
/// <reference lib="webworker" />
declare const self: ServiceWorkerGlobalScope;

/** Put in by the build: every file, and a name that changes with any of them. */
declare const __BUILT__: { readonly version: string; readonly files: readonly string[] };
const built = __BUILT__;

const prefix = 'crownwatch-';
const mine = prefix + built.version;
/** Stands among the files of a version that took over, at an address no page asks for. */
const ran = '/ran';

self.addEventListener('install', (event) => {
  // All or nothing: an install that misses a file is tried again later.
  event.waitUntil(caches.open(mine).then((cache) => cache.addAll([...built.files])));
});

self.addEventListener('activate', (event) => {
  event.waitUntil(
    (async () => {
      // This one stays, and the one that ran before it: a page may still show that. What waited in between, and never
      // ran, goes.
      const names = (await caches.keys()).filter((name) => name.startsWith(prefix) && name !== mine);
      const marked = await Promise.all(
        names.map(async (name) => (await (await caches.open(name)).match(ran)) !== undefined),
      );
      const before = names.filter((_name, i) => marked[i]).at(-1) ?? names.at(-1);
      for (const name of names) if (name !== before) await caches.delete(name);
      await (await caches.open(mine)).put(ran, new Response());
      await self.clients.claim();
    })(),
  );
});

self.addEventListener('message', (event) => {
  if (event.data === 'take over') void self.skipWaiting();
});

async function page(request: Request): Promise<Response> {
  const kept = await (await caches.open(mine)).match('/index.html');
  return kept ?? fetch(request);
}

async function file(request: Request): Promise<Response> {
  return (await caches.match(request, { ignoreSearch: false })) ?? fetch(request);
}

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== self.location.origin) return;
  // Data are asked for anew, or are on the shelf of the page; files of the service are its own.
  if (/^\/(api|health|metrics|calendar|care|tasks|unsubscribe)(\/|$)/.test(url.pathname)) return;
  if (request.mode === 'navigate') event.respondWith(page(request));
  else if (url.pathname.startsWith('/assets/') || built.files.includes(url.pathname))
    event.respondWith(file(request));
});

// A module, so that its names are its own.
export {};
