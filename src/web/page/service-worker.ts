/**
 * Keeps the page's own files on the phone, so that it starts without reception. What the ledger says is
 * never kept here.
 */
const worker = self as unknown as ServiceWorkerGlobalScope;
const CACHE = `page-${PAGE_VERSION}`;

worker.addEventListener('install', (event) => {
  const keep = async () => {
    const cache = await caches.open(CACHE);
    await cache.addAll([...PAGE_FILES]);
    await worker.skipWaiting();
  };
  event.waitUntil(keep());
});

worker.addEventListener('activate', (event) => {
  const clear = async () => {
    for (const name of await caches.keys()) if (name !== CACHE) await caches.delete(name);
    await worker.clients.claim();
  };
  event.waitUntil(clear());
});

worker.addEventListener('fetch', (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== 'GET' || origin !== location.origin || !PAGE_FILES.includes(pathname)) return;
  const answer = async () => (await caches.match(pathname, { cacheName: CACHE })) ?? fetch(request);
  event.respondWith(answer());
});
