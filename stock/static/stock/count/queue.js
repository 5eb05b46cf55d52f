// Entries wait here until the server has answered for each of them.
//
// An entry carries a key of its own, so that it may be sent any number of times. All
// that is read here is one person's, and comes from the store and the journal alike.

import { deviceName, newKey, nextNumber } from "./device.js";
import { strike, written } from "./journal.js";
import { NOBODY, asked, transact } from "./store.js";

const KEPT_DAYS = 60;

export const WAITING = "waiting";

// What was said of a line, as it will be sent.
export function stamped(said) {
  return {
    ...said,
    key: newKey(),
    device: deviceName(),
    sequence: nextNumber(),
    entered_at: new Date().toISOString(),
    outcome: WAITING,
    sentence: "",
  };
}

// An entry that is there already may have its answer: it stays as it is.
export function storeEntry(entry) {
  return transact(["entries", "device"], "readwrite", (entries, devices) => {
    entries.add(entry).onerror = (event) => {
      event.preventDefault();
      event.stopPropagation();
    };
    devices.put({ id: "this", name: entry.device, sequence: entry.sequence });
  });
}

export function storeTyped(typed) {
  const job = (store) => {
    typed.text ? store.put(typed) : store.delete([typed.by, typed.line]);
  };
  return transact(["typed"], "readwrite", job, "relaxed");
}

// Brings what an earlier page left in the journal to where it belongs.
export async function takeUp(by) {
  await transact(["typed"], "readwrite", async (store) => {
    const nobodys = await asked(store.getAll(IDBKeyRange.bound([NOBODY], [NOBODY, []])));
    for (const typed of nobodys) {
      store.delete([NOBODY, typed.line]);
      store.put({ ...typed, by });
    }
  });
  const pieces = [
    ...written("entry", by).map((entry) => ["entry", entry.key, entry, storeEntry]),
    ...written("typed", by).map((typed) => ["typed", typed.line, typed, storeTyped]),
  ];
  for (const [kind, id, said, store] of pieces) {
    await store(said);
    strike(kind, by, id, said);
  }
}

async function stored(name) {
  return transact([name], "readonly", (store) => asked(store.getAll())).catch(() => []);
}

// Everybody's entries, the journal's too; without a person only to be numbered.
export async function everything() {
  const entries = new Map(written("entry").map((entry) => [entry.key, entry]));
  (await stored("entries")).forEach((entry) => entries.set(entry.key, entry));
  return [...entries.values()].sort((a, b) => a.sequence - b.sequence);
}

// What the journal says of a line is newer than the store.
export async function everyTyped() {
  const id = ({ by, line }) => JSON.stringify([by, line]);
  const typed = new Map((await stored("typed")).map((each) => [id(each), each]));
  written("typed").forEach((each) => typed.set(id(each), each));
  return [...typed.values()].filter(({ text }) => text);
}

export async function all(by) {
  return (await everything()).filter((entry) => entry.by === by);
}

export async function waiting(by) {
  return (await all(by)).filter((entry) => entry.outcome === WAITING);
}

export async function typedLines(by) {
  return (await everyTyped()).filter((typed) => typed.by === by);
}

// Writes the server's answers beside the entries; the last word on each is kept.
export async function answered(sent, answers, answeredAt) {
  const byKey = new Map(sent.map((entry) => [entry.key, entry]));
  const changed = answers
    .filter(({ key, outcome }) => byKey.has(key) && outcome !== "apart")
    .map((answer) => ({ ...byKey.get(answer.key), ...answer, answered_at: answeredAt }));
  await transact(["entries"], "readwrite", (store) => changed.forEach((entry) => store.put(entry))).catch(
    () => undefined, // sent all the same; it is sent again, and answered the same
  );
  changed.forEach(({ by, key }) => strike("entry", by, key, byKey.get(key)));
  return changed;
}

export function forget(keys) {
  return transact(["entries"], "readwrite", (store) => keys.forEach((key) => store.delete(key)));
}

// Entries that the server has had for months need no room here.
export async function tidy(by, now = Date.now()) {
  const old = (await all(by)).filter(
    (entry) => entry.outcome === "taken" && now - Date.parse(entry.entered_at) > KEPT_DAYS * 864e5,
  );
  await forget(old.map((entry) => entry.key));
}
