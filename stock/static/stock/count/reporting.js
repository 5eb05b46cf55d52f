// Tells the kitchen how this phone stands: whether a sheet is open on it, what waits,
// and what is typed and not entered, so that a review elsewhere can say it.

import { deviceName, nextNumber } from "./device.js";
import { post } from "./posting.js";
import { typedLines, waiting } from "./queue.js";

const SOON_MS = 600;
const AGAIN_AFTER_MS = 60_000;
const OPEN = "count-sheet";
const REPORTED = "count-reported";

// A lock goes with its tab, however that ends; other tabs see who holds one.
function holdOpen(by, count) {
  navigator.locks?.request(`${OPEN} ${by} ${count}`, { mode: "shared" }, () => new Promise(() => undefined));
}

async function openCounts(by) {
  const { held = [] } = (await navigator.locks?.query()) ?? {};
  const start = `${OPEN} ${by} `;
  return held.filter(({ name }) => name.startsWith(start)).map(({ name }) => Number(name.slice(start.length)));
}

// Counts of which the kitchen was last told that something is open here.
function reported(by, counts) {
  const key = `${REPORTED} ${by}`;
  try {
    if (counts) {
      localStorage.setItem(key, JSON.stringify(counts));
    }
    return JSON.parse(localStorage.getItem(key) ?? "[]");
  } catch {
    return [];
  }
}

function spoken({ place, item, use_by, lot_code, text }) {
  return { place, item, use_by, lot_code, text };
}

export class Reporting {
  // `here` is the count whose sheet this page is, or null.
  constructor(url, by, here) {
    Object.assign(this, { url, by, here, last: [] });
    if (here) {
      holdOpen(by, here);
    }
    setInterval(() => document.visibilityState === "visible" && this.report(), AGAIN_AFTER_MS);
    addEventListener("online", () => this.report());
    // A phone that is pocketed sleeps: what it holds is said while it still can be.
    addEventListener("visibilitychange", () => this.report(document.visibilityState === "hidden"));
    addEventListener("pagehide", () => this.leave());
    addEventListener("pageshow", () => Object.assign(this, { isLeft: false }));
  }

  // Who goes on typing is heard all the same: what comes meanwhile does not put it off.
  soon() {
    this.timer ??= setTimeout(() => this.report(), SOON_MS);
  }

  // Numbered before it looks: of two reports at once the one that looked later counts.
  async report(keepalive = false) {
    clearTimeout(this.timer);
    this.timer = null;
    const number = nextNumber();
    this.last = await this.stands();
    if (!this.isLeft) {
      await this.tell(this.last, keepalive, number);
    }
  }

  // There is no time to look again; another sheet that is open says so by itself.
  leave() {
    this.isLeft = true;
    const isClosed = ({ count }) => count === this.here;
    this.tell(this.last.map((stand) => (isClosed(stand) ? { ...stand, is_open: false } : stand)), true);
  }

  async tell(counts, keepalive = false, number = nextNumber()) {
    if (!counts.length) {
      return;
    }
    const said = { by: this.by, device: deviceName(), number, counts };
    const answer = await post(this.url, said, { keepalive }).catch(() => ({ trouble: "offline" }));
    if (!answer.trouble) {
      const isNotDone = (stand) => stand.is_open || stand.waiting || stand.typed.length;
      reported(this.by, counts.filter(isNotDone).map(({ count }) => count));
    }
  }

  async stands() {
    const [entries, typed, open] = await Promise.all([waiting(this.by), typedLines(this.by), openCounts(this.by)]);
    const opened = new Set(this.here ? [this.here, ...open] : open);
    const counts = new Set([...opened, ...[...entries, ...typed].map(({ count }) => count), ...reported(this.by)]);
    return [...counts].filter(Boolean).map((count) => ({
      count,
      is_open: opened.has(count),
      waiting: entries.filter((entry) => entry.count === count).length,
      typed: typed.filter((each) => each.count === count).map(spoken),
    }));
  }
}
