// Sends what waits, whenever it can; tells listeners how it stands.
//   stand: { waiting, trouble } with trouble "" | "offline" | "signed out" | "refused"
//   answers: the entries that were answered, with their answers

import { person } from "./person.js";
import { post } from "./posting.js";
import { answered, waiting } from "./queue.js";

const MOST_AT_ONCE = 100;
const AGAIN_AFTER_MS = 20_000;

export class Sending extends EventTarget {
  // `inHand` returns entries that are not on the disk yet, perhaps never will be.
  constructor(url, by, inHand = () => []) {
    super();
    Object.assign(this, { url, by, inHand });
    this.settled = new Set(); // keys answered here, whatever the disk says of them
    this.trouble = "";
    this.running = null;
    addEventListener("online", () => this.send());
    addEventListener("pageshow", () => this.send());
    document.addEventListener("visibilitychange", () => this.send());
    setInterval(() => this.send(), AGAIN_AFTER_MS);
  }

  // One sending at a time; what is kept meanwhile goes with the next. A phone that is
  // locked, or another's by now, sends nothing.
  send() {
    if (![this.by, undefined].includes(person())) {
      return Promise.resolve();
    }
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

  async waiting() {
    const entries = new Map(this.inHand().map((entry) => [entry.key, entry]));
    (await waiting(this.by)).forEach((entry) => entries.set(entry.key, entry));
    return [...entries.values()].filter(({ key }) => !this.settled.has(key));
  }

  async sendWaiting() {
    for (;;) {
      const entries = (await this.waiting()).slice(0, MOST_AT_ONCE);
      if (!entries.length) {
        this.trouble = "";
        return;
      }
      const { trouble, answers, answered_at: at } = await post(this.url, { entries });
      this.trouble = trouble ?? "";
      if (trouble) {
        return;
      }
      const changed = await answered(entries, answers, at);
      changed.forEach(({ key }) => this.settled.add(key));
      this.dispatchEvent(new CustomEvent("answers", { detail: changed }));
      if (changed.length < entries.length) {
        this.trouble = answers.some(({ outcome }) => outcome === "apart") ? "signed out" : "refused";
        return;
      }
    }
  }

  async tell() {
    const left = (await this.waiting()).length;
    const stand = { waiting: left, trouble: this.trouble, again: this.again };
    this.dispatchEvent(new CustomEvent("stand", { detail: stand }));
  }
}
