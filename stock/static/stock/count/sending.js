// Sends what waits, whenever it can; tells listeners how it stands.
//   stand: { waiting, trouble } with trouble "" | "offline" | "signed out" | "refused"

import { answered, waiting } from "./queue.js";

const MOST_AT_ONCE = 100;
const AGAIN_AFTER_MS = 20_000;
const PATIENCE_MS = 15_000;

function token() {
  return document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? "";
}

async function post(url, entries) {
  const response = await fetch(url, {
    method: "POST",
    credentials: "same-origin",
    redirect: "manual",
    headers: { "Content-Type": "application/json", "X-CSRFToken": token() },
    body: JSON.stringify({ entries }),
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

export class Sending extends EventTarget {
  constructor(url) {
    super();
    this.url = url;
    this.trouble = "";
    this.running = null;
    addEventListener("online", () => this.send());
    addEventListener("pageshow", () => this.send());
    document.addEventListener("visibilitychange", () => this.send());
    setInterval(() => this.send(), AGAIN_AFTER_MS);
  }

  // One sending at a time; what is kept meanwhile goes with the next.
  send() {
    this.again = true;
    this.running ??= this.sendAll().finally(() => {
      this.running = null;
    });
    return this.running;
  }

  async sendAll() {
    while (this.again) {
      this.again = false;
      await this.sendWaiting().catch(() => {
        this.trouble = "offline";
      });
      await this.tell();
    }
  }

  async sendWaiting() {
    for (;;) {
      const entries = (await waiting()).slice(0, MOST_AT_ONCE);
      if (!entries.length) {
        this.trouble = "";
        return;
      }
      const { trouble, answers, answered_at: at } = await post(this.url, entries);
      this.trouble = trouble ?? "";
      if (trouble) {
        return;
      }
      const changed = await answered(answers, at);
      this.dispatchEvent(new CustomEvent("answers", { detail: changed }));
      if (!changed.some((entry) => entry.outcome !== "waiting")) {
        this.trouble = "refused";
        return;
      }
    }
  }

  async tell() {
    const left = (await waiting()).length;
    const stand = { waiting: left, trouble: this.trouble, again: this.again };
    this.dispatchEvent(new CustomEvent("stand", { detail: stand }));
  }
}
