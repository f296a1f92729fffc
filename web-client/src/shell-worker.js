// Keeps the built page on the device, so that it opens without signal.
// Belongs here: the shell's own files, nothing else; answers of the API are never kept.
// Does not belong here: what is written without signal (lib/outbox.svelte.ts).
//
// The build puts `const SHELL = { version, files }` in front of this file
// (scripts/shell-worker.ts).
/* global SHELL */

const PREFIX = 'countersign-shell-';
const CURRENT = PREFIX + SHELL.version;
/** The page before the current one stays, since it may be open and still fetch a screen. */
const KEPT_VERSIONS = 2;
/** With a signal that answers no sooner than this, the kept page opens instead. */
const PATIENCE_MS = 4_000;
/** The service's own addresses; everything else is a page of the client. */
const SERVICE = /^\/(api|live|problems)(\/|$)/;

self.addEventListener('install', (event) => {
  event.waitUntil(
    caches
      .open(CURRENT)
      .then((cache) => cache.addAll(SHELL.files.map((file) => new Request(file, { cache: 'no-cache' }))))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener('activate', (event) => {
  event.waitUntil(forgetOld().then(() => self.clients.claim()));
});

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== self.location.origin || SERVICE.test(url.pathname)) return;
  if (request.mode === 'navigate') event.respondWith(page(request));
  else if (SHELL.files.includes(url.pathname) || url.pathname.startsWith('/assets/')) event.respondWith(file(request));
});

async function forgetOld() {
  // Caches are listed in the order of their making.
  const ours = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== CURRENT);
  await Promise.all(ours.slice(0, Math.max(0, ours.length - KEPT_VERSIONS + 1)).map((name) => caches.delete(name)));
}

/** From the network first, so that a new version is there with the next load. */
async function page(request) {
  const patience = new AbortController();
  const timer = setTimeout(() => patience.abort(), PATIENCE_MS);
  try {
    const answer = await fetch(request, { signal: patience.signal });
    if (answer.status < 500) return answer;
    return (await kept()) ?? answer;
  } catch {
    return (await kept()) ?? fetch(request);
  } finally {
    clearTimeout(timer);
  }
}

const kept = async () => (await caches.open(CURRENT)).match('/');

/** Files with a hash in their name never change; one not kept here is asked for. */
async function file(request) {
  return (await caches.match(request, { ignoreSearch: true })) ?? fetch(request);
}

// A notice that this worker showed, since a phone lets no page do it.
self.addEventListener('notificationclick', (event) => {
  event.notification.close();
  event.waitUntil(self.clients.openWindow(event.notification.data?.path ?? '/'));
});
