// What this phone calls itself, and its running number: both stand in every entry, so
// that neither the order of sending nor a wrong clock matters.

import { asked, transact } from "./store.js";

const NAME = "count-device";
const NUMBER = "count-number";

const known = { name: "", number: 0 };

export function remembered(key) {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

export function remember(key, value) {
  try {
    localStorage.setItem(key, value);
  } catch {
    // a browser without this memory does without
  }
}

// Unlike randomUUID this is there without https too.
export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

// To be awaited once, before the first number is drawn.
export async function wake() {
  const stored = await transact(["device"], "readonly", (store) => asked(store.get("this"))).catch(() => null);
  known.name = stored?.name ?? deviceName();
  known.number = Math.max(known.number, stored?.sequence ?? 0);
  remember(NAME, known.name);
}

export function deviceName() {
  known.name ||= remembered(NAME) ?? newKey();
  return known.name;
}

// At once, and above every number that another tab has drawn.
export function nextNumber() {
  known.number = Math.max(known.number, Number(remembered(NUMBER)) || 0) + 1;
  remember(NUMBER, String(known.number));
  return known.number;
}
