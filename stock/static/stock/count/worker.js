// The count pages with no network: pages and their files as they were last seen.
//
// The network comes first, for a page that is a day old shows an old count; but it
// gets little time, for in a walk-in one bar of signal is worse than none. Pages are
// kept apart by person: only whoever has the phone open is shown theirs.

const FILES = "count-files-2";
const PAGES = "count-pages-";
const PERSON = "count-person";
const LOCKED = "/count/locked/";
const PATIENCE_MS = 2_500;

async function person() {
  const word = await caches.match("/count/person", { cacheName: PERSON });
  return word ? word.text() : "";
}

// Nobody's page: it is fetched as somebody who is not signed in.
async function keepLockedPage() {
  const response = await fetch(LOCKED, { credentials: "omit" });
  const cache = await caches.open(FILES);
  const page = await response.clone().text();
  const files = [...page.matchAll(/(?:href|src)="(\/static\/[^"]+)"/g)].map(([, url]) => url);
  await cache.put(LOCKED, response);
  await cache.addAll(files);
}

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(keepLockedPage());
});

self.addEventListener("activate", (event) => {
  const isOurs = (name) => name === FILES || name === PERSON || name.startsWith(PAGES);
  event.waitUntil(
    (async () => {
      const names = await caches.keys();
      const old = names.filter((name) => name.startsWith("count-") && !isOurs(name));
      await Promise.all(old.map((name) => caches.delete(name)));
      await self.clients.claim();
    })(),
  );
});

function isFile(request) {
  return new URL(request.url).pathname.startsWith("/static/");
}

// Pages whose figures must be fresh, such as the review, do not name their person.
async function cacheFor(request, response) {
  if (!response.ok || response.type !== "basic" || response.redirected) {
    return null;
  }
  const reader = response.headers.get("X-Offline");
  const isTheirs = reader && reader === (await person());
  return isFile(request) ? FILES : isTheirs ? PAGES + reader : null;
}

async function fetched(request) {
  const response = await fetch(request);
  const copy = response.clone();
  const name = await cacheFor(request, response);
  if (name) {
    const cache = await caches.open(name);
    await cache.put(request.url.split("#")[0], copy);
  }
  return response;
}

async function keptFor(request) {
  const reader = await person();
  const cacheName = isFile(request) ? FILES : PAGES + reader;
  const isOpen = isFile(request) || reader;
  return isOpen ? caches.match(request.url.split("#")[0], { cacheName, ignoreVary: true }) : undefined;
}

async function answer(request) {
  const kept = await keptFor(request);
  const fresh = fetched(request);
  if (kept) {
    fresh.catch(() => undefined); // late or not at all: the page has its answer
    const late = new Promise((resolve) => {
      setTimeout(resolve, PATIENCE_MS);
    });
    // Asked again: whoever it was kept for may have left meanwhile.
    return Promise.race([fresh, late.then(() => keptFor(request))])
      .catch(() => keptFor(request))
      .then((response) => response ?? fresh);
  }
  return request.mode === "navigate" ? fresh.catch(() => locked(request)) : fresh;
}

// An address of its own, so that nothing on it is taken for the page asked for.
async function locked(request) {
  const page = await caches.match(LOCKED, { cacheName: FILES });
  const isAsked = new URL(request.url).pathname === LOCKED;
  return page && !isAsked ? Response.redirect(LOCKED) : (page ?? Response.error());
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
