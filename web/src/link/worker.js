// Keeps the page for a device that has lost the desk. Everything that was built is fetched once and kept;
// the desk's own answers are never kept here: the page keeps the last picture itself.
const FILES = __FILES__;
const KEPT = 'fathomline-__VERSION__';

self.addEventListener('install', (event) => {
  event.waitUntil(
    caches
      .open(KEPT)
      // What the page itself has just fetched comes from the browser's own store: nothing is sent twice.
      .then((kept) => kept.addAll(FILES))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener('activate', (event) => {
  event.waitUntil(
    caches
      .keys()
      .then((names) => Promise.all(names.filter((name) => name !== KEPT).map((name) => caches.delete(name))))
      .then(() => self.clients.claim()),
  );
});

self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== 'GET' || url.origin !== self.location.origin) return;
  if (url.pathname.startsWith('/api/') || url.pathname.startsWith('/files/') || url.pathname.startsWith('/handover')) return;
  const page = event.request.mode === 'navigate';
  if (page && url.pathname !== '/' && url.pathname !== '/join') return;
  event.respondWith(
    caches.match(page ? '/' : event.request, { ignoreSearch: page, cacheName: KEPT }).then((kept) => kept ?? fetch(event.request)),
  );
});
