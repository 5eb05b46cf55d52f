// The count pages with no network: pages and their files as they were last seen.
//
// The network comes first, for a page that is a day old shows an old count; but it
// gets little time, for in a walk-in one bar of signal is worse than none. Pages are
// kept apart by person: only whoever has the phone open is shown theirs.
//
// Files are kept by their version (/static/VERSION/...), and never change: a page from
// before an update has the files that it was made with. The kitchen puts in front of
// this VERSION, that of its own files, and MADE_OF, the addresses of all of them: a
// worker begins when it has them all, so that no page that it keeps lacks one.

const FILES = "count-files-";
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
  const cache = await caches.open(FILES + VERSION);
  const page = await response.clone().text();
  const files = [...page.matchAll(/(?:href|src)="(\/static\/[^"]+)"/g)].map(([, url]) => url);
  await cache.put(LOCKED, response);
  await cache.addAll([...new Set([...MADE_OF, ...files])]);
}

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(keepLockedPage());
});

// The caches of the files that pages kept here are made of.
async function filesInUse(names) {
  const inUse = new Set([FILES + VERSION]);
  for (const name of names.filter((each) => each.startsWith(PAGES))) {
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      const page = await (await cache.match(request)).text();
      [...page.matchAll(/"\/static\/([^"/]+)\//g)].forEach(([, version]) => inUse.add(FILES + version));
    }
  }
  return inUse;
}

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      const names = await caches.keys();
      const inUse = await filesInUse(names);
      const isOurs = (name) => inUse.has(name) || name === PERSON || name.startsWith(PAGES);
      const old = names.filter((name) => name.startsWith("count-") && !isOurs(name));
      await Promise.all(old.map((name) => caches.delete(name)));
      await self.clients.claim();
    })(),
  );
});

function isFile(request) {
  return new URL(request.url).pathname.startsWith("/static/");
}

function filesOf(request) {
  return FILES + new URL(request.url).pathname.split("/")[2];
}

// Pages whose figures must be fresh, such as the review, do not name their person.
async function cacheFor(request, response) {
  if (!response.ok || response.type !== "basic" || response.redirected) {
    return null;
  }
  const reader = response.headers.get("X-Offline");
  const isTheirs = reader && reader === (await person());
  return isFile(request) ? filesOf(request) : isTheirs ? PAGES + reader : null;
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
  const cacheName = isFile(request) ? filesOf(request) : PAGES + reader;
  const isOpen = isFile(request) || reader;
  return isOpen ? caches.match(request.url.split("#")[0], { cacheName, ignoreVary: true }) : undefined;
}

async function answer(request) {
  const kept = await keptFor(request);
  if (kept && isFile(request)) {
    return kept;
  }
  const fresh = fetched(request);
  if (kept) {
    fresh.catch(() => undefined); // late or not at all: the page has its answer
    const late = new Promise((resolve) => {
      setTimeout(resolve, PATIENCE_MS);
    });
    // A kitchen that is there and cannot answer is no better than none.
    const able = fresh.then((response) => (response.status < 500 ? response : keptFor(request)));
    // Asked again: whoever it was kept for may have left meanwhile.
    return Promise.race([able, late.then(() => keptFor(request))])
      .catch(() => keptFor(request))
      .then((response) => response ?? fresh);
  }
  return request.mode === "navigate" ? fresh.catch(() => locked(request)) : fresh;
}

// An address of its own, so that nothing on it is taken for the page asked for.
async function locked(request) {
  const page = await caches.match(LOCKED, { cacheName: FILES + VERSION });
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
