// One request to the kitchen: its answer, or what was in the way.
//   { trouble } with trouble "signed out" | "refused"; no network at all is an error

const PATIENCE_MS = 15_000;

function token() {
  return document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? "";
}

export async function post(url, said, { keepalive = false } = {}) {
  const response = await fetch(url, {
    method: "POST",
    credentials: "same-origin",
    redirect: "manual",
    keepalive,
    headers: { "Content-Type": "application/json", "X-CSRFToken": token() },
    body: JSON.stringify(said),
    signal: AbortSignal.timeout(PATIENCE_MS),
  });
  if (response.type === "opaqueredirect" || response.status === 401) {
    return { trouble: "signed out" };
  }
  if (!response.ok) {
    return { trouble: response.status === 403 ? "signed out" : "refused" };
  }
  return response.json();
}
