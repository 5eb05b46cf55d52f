"""Whether a phone has put a sheet away, to be opened with no network."""

from time import monotonic

ALL_KEPT = """async () => {
  await navigator.serviceWorker.ready;
  const files = performance.getEntriesByType("resource")
    .map((entry) => entry.name)
    .filter((url) => new URL(url).pathname.startsWith("/static/"));
  const kept = [location.href, ...files].map((url) => caches.match(url));
  return (await Promise.all(kept)).every(Boolean);
}"""
PATIENCE_S = 60


def ready_for_offline(tab):
    """Wait until the worker has put away the page and all that it is made of.

    Asked again and again: a wait of the browser's own takes the promise for a yes.
    """
    until = monotonic() + PATIENCE_S
    while not tab.evaluate(ALL_KEPT):
        assert monotonic() < until, "The page is not kept for offline."
        tab.wait_for_timeout(50)
