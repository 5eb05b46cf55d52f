// Entries wait here until the server has answered for each of them.
//
// An entry is on the disk before it is called kept. It carries a key of its own, so
// that it may be sent any number of times, and the device's running number, so that
// the order of sending and a wrong clock do not matter.

import { asked, newKey, transact } from "./store.js";

const KEPT_DAYS = 60;

export const WAITING = "waiting";

// Keeps what was said of a line; returns the entry as it will be sent.
export function keep(said) {
  return transact(["entries", "device"], "readwrite", async (entries, devices) => {
    const device = (await asked(devices.get("this"))) ?? { id: "this", name: newKey(), sequence: 0 };
    device.sequence += 1;
    devices.put(device);
    const entry = {
      ...said,
      key: newKey(),
      device: device.name,
      sequence: device.sequence,
      entered_at: new Date().toISOString(),
      outcome: WAITING,
      sentence: "",
    };
    entries.put(entry);
    return entry;
  });
}

export async function all() {
  const entries = await transact(["entries"], "readonly", (store) => asked(store.getAll()));
  return entries.sort((a, b) => a.sequence - b.sequence);
}

export async function waiting() {
  return (await all()).filter((entry) => entry.outcome === WAITING);
}

// Writes the server's answers beside the entries; the last word on each is kept.
export function answered(answers, answeredAt) {
  return transact(["entries"], "readwrite", async (store) => {
    const changed = [];
    for (const answer of answers) {
      const entry = await asked(store.get(answer.key));
      if (entry) {
        Object.assign(entry, answer, { answered_at: answeredAt });
        store.put(entry);
        changed.push(entry);
      }
    }
    return changed;
  });
}

export function forget(keys) {
  return transact(["entries"], "readwrite", (store) => keys.forEach((key) => store.delete(key)));
}

// Entries that the server has had for months need no room here.
export async function tidy(now = Date.now()) {
  const old = (await all()).filter(
    (entry) => entry.outcome === "taken" && now - Date.parse(entry.entered_at) > KEPT_DAYS * 864e5,
  );
  await forget(old.map((entry) => entry.key));
}

export function keepDraft(line, text) {
  const job = (store) => (text ? store.put({ line, text }) : store.delete(line)) && undefined;
  return transact(["drafts"], "readwrite", job, "relaxed");
}

export function drafts() {
  return transact(["drafts"], "readonly", (store) => asked(store.getAll()));
}
