// The count pages with no network: pages and their files as they were last seen.
//
// The network comes first, for a page that is a day old shows an old count; but it
// gets little time, for in a walk-in one bar of signal is worse than none.

const CACHE = "count-1";
const PATIENCE_MS = 2_500;

self.addEventListener("install", () => self.skipWaiting());

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      const names = await caches.keys();
      const old = names.filter((name) => name.startsWith("count-") && name !== CACHE);
      await Promise.all(old.map((name) => caches.delete(name)));
      await self.clients.claim();
    })(),
  );
});

// Pages whose figures must be fresh, such as the review, do not carry the mark.
function canKeep(request, response) {
  const path = new URL(request.url).pathname;
  const isOurs = path.startsWith("/static/") || response.headers.get("X-Offline") === "keep";
  return isOurs && response.ok && response.type === "basic" && !response.redirected;
}

async function fetched(request) {
  const response = await fetch(request);
  if (canKeep(request, response)) {
    const cache = await caches.open(CACHE);
    await cache.put(request.url.split("#")[0], response.clone());
  }
  return response;
}

async function answer(request) {
  const kept = await caches.match(request.url.split("#")[0], { cacheName: CACHE, ignoreVary: true });
  const fresh = fetched(request);
  if (!kept) {
    return fresh;
  }
  fresh.catch(() => undefined); // late or not at all: the page has its answer
  const late = new Promise((resolve) => {
    setTimeout(() => resolve(kept), PATIENCE_MS);
  });
  return Promise.race([fresh, late]).catch(() => kept);
}

self.addEventListener("fetch", (event) => {
  if (event.request.method === "GET" && new URL(event.request.url).origin === self.location.origin) {
    event.respondWith(answer(event.request));
  }
});

// A page names what it is made of, and the other places of its count.
self.addEventListener("message", (event) => {
  const urls = event.data?.keep ?? [];
  const keep = (url) => fetched(new Request(url, { credentials: "same-origin" })).catch(() => undefined);
  event.waitUntil(Promise.all(urls.map(keep)));
});
