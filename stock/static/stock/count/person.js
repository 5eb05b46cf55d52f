// Whose this phone is just now. All that is kept on it belongs to one person, and is
// opened to nobody else: not by who signs in next, and not after signing out.
//
// Pages read it from localStorage, at once; the worker from a cache of its own.

const PERSON = "count-person";
const PAGES = "count-pages-";
export const WORKERS_WORD = "/count/person";

function told(id) {
  return id === null ? "" : String(id);
}

// The cache of one person's pages.
export function pagesOf(id) {
  return PAGES + told(id);
}

let isLocking = false; // this page locks it, and goes on by itself
let isForgetful = false; // no page may write anything down here

// Returns a person's number, null for nobody, undefined where no page may remember.
export function person() {
  try {
    return isForgetful ? undefined : Number(localStorage.getItem(PERSON)) || null;
  } catch {
    return undefined;
  }
}

async function tellWorker(id) {
  if (globalThis.caches) {
    const cache = await caches.open(PERSON);
    await cache.put(WORKERS_WORD, new Response(told(id)));
  }
}

async function clearPages(exceptOf) {
  const names = (await globalThis.caches?.keys()) ?? [];
  const others = names.filter((name) => name.startsWith(PAGES) && name !== pagesOf(exceptOf));
  await Promise.all(others.map((name) => caches.delete(name)));
}

function remember(id) {
  try {
    localStorage.setItem(PERSON, told(id));
  } catch {
    isForgetful = true; // the worker is told all the same
  }
}

// Fulfilled once the worker knows whom the page opened the phone to.
export let opened = Promise.resolve();

export function openTo(id) {
  remember(id);
  opened = tellWorker(id)
    .then(() => clearPages(id))
    .catch(() => undefined); // no cache here: then it needs the network
}

// Nobody's from this moment on; pages with figures on record go at once.
export async function lock({ isOver = true } = {}) {
  isLocking = true;
  remember(null);
  await tellWorker(null);
  if (isOver) {
    await clearPages(null);
  }
}

// Calls back at once, and whenever the phone may have become another's. Not where this
// page is signing out itself: to leave it then would cut off what tells the kitchen.
export function watch(id, lockPage) {
  const look = () => {
    const now = person();
    if (!isLocking && now !== undefined && now !== id) {
      lockPage();
    }
  };
  addEventListener("storage", ({ key }) => key === PERSON && look());
  addEventListener("pageshow", look);
  document.addEventListener("visibilitychange", look);
  look();
}
