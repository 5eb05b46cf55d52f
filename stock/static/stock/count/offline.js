// Lets the count pages open with no network, and asks that nothing kept be thrown out.

function madeOf() {
  const files = performance.getEntriesByType("resource").map((entry) => entry.name);
  const own = files.filter((url) => new URL(url).pathname.startsWith("/static/"));
  const pages = [...document.querySelectorAll("a[data-keep]")].map((link) => link.href.split("#")[0]);
  return [...new Set([location.href.split("#")[0], ...own, ...pages])];
}

export async function keepForOffline(workerUrl) {
  if (!("serviceWorker" in navigator)) {
    return;
  }
  await navigator.serviceWorker.register(workerUrl);
  const { active } = await navigator.serviceWorker.ready;
  active.postMessage({ keep: madeOf() });
  await navigator.storage?.persist?.();
}
