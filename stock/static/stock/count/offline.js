// Lets the count pages open with no network, and asks that nothing kept be thrown out.

function madeOf() {
  const files = performance.getEntriesByType("resource").map((entry) => entry.name);
  const own = files.filter((url) => new URL(url).pathname.startsWith("/static/"));
  const pages = [...document.querySelectorAll("a[data-keep]")].map((link) => link.href.split("#")[0]);
  return [...new Set([location.href.split("#")[0], ...own, ...pages])];
}

export async function keepForOffline(workerUrl) {
  const { serviceWorker: workers } = navigator;
  if (!workers) {
    return;
  }
  const tell = async () => (await workers.ready).active.postMessage({ keep: madeOf() });
  // A new worker that comes in the middle of a count begins with nothing.
  workers.addEventListener("controllerchange", tell);
  await workers.register(workerUrl);
  await tell();
  await navigator.storage?.persist?.();
}
