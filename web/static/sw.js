// Lets the Deck open with no line to the server. It serves a fixed list of
// files and nothing else: no POST, nothing under /api, nothing with a person in
// it. The name of the cache is the hash of the files, so each build brings its
// whole set and takes the old one away; a set is never mixed.

const hash = "HASH";
const files = ["FILES"];
const cacheName = `haulout-${hash}`;
const patience = 4000;

self.addEventListener('install', (e) => e.waitUntil(fill()));
self.addEventListener('activate', (e) => e.waitUntil(settle()));

/** All files or none; a page that is the sign-in page in disguise is none. */
async function fill() {
  const answers = await Promise.all(files.map((path) => fetch(path, { cache: 'reload' })));
  if (answers.some((a) => !a.ok || a.redirected)) throw new Error('not every file of the Deck came');
  const cache = await caches.open(cacheName);
  await Promise.all(answers.map((a, i) => cache.put(files[i], a)));
  await self.skipWaiting(); // open pages have their code already; they load anew when a person says so
}

async function settle() {
  const names = await caches.keys();
  await Promise.all(names.filter((n) => n.startsWith('haulout-') && n !== cacheName).map((n) => caches.delete(n)));
  await self.clients.claim();
}

self.addEventListener('fetch', (e) => {
  const { pathname, origin } = new URL(e.request.url);
  if (e.request.method !== 'GET' || origin !== self.location.origin || !files.includes(pathname)) return;
  // A file under the hash never changes, so the kept one is the right one.
  e.respondWith(pathname.startsWith('/static/') ? keptFirst(pathname) : networkFirst(e.request, pathname));
});

async function keptFirst(pathname) {
  return (await kept(pathname)) ?? fetch(pathname);
}

const kept = async (pathname) => (await caches.open(cacheName)).match(pathname);

/** The network's answer if it is a good one and comes in time, else the kept one. */
async function networkFirst(request, pathname) {
  const copy = await kept(pathname);
  if (!copy) return fetch(request);
  try {
    const answer = await fetch(request, { signal: AbortSignal.timeout(patience) });
    return answer.ok ? answer : copy; // signed out, or a server in trouble: the Deck still opens
  } catch {
    return copy;
  }
}
