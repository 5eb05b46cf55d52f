// On the page for signing in, and where a sheet is locked: what is on this phone that
// the kitchen has not got, and whose it is. What it says stays closed.

import { person } from "./person.js";
import { WAITING, everyTyped, everything } from "./queue.js";

function plural(number, one, many) {
  return `${number} ${number === 1 ? one : many}`;
}

function words({ name, entries, typed }) {
  const parts = [
    entries && `${plural(entries, "entry", "entries")} not sent`,
    typed && `${plural(typed, "line", "lines")} typed, not entered`,
  ];
  return `${name}: ${parts.filter(Boolean).join(", ")}.`;
}

function byPerson(entries, typed) {
  const people = new Map();
  const count = (said, kind) => {
    const known = people.get(said.by) ?? { name: said.by_name ?? "Somebody", entries: 0, typed: 0 };
    known[kind] += 1;
    people.set(said.by, known);
  };
  entries.forEach((entry) => count(entry, "entries"));
  typed.forEach((line) => count(line, "typed"));
  return [...people.values()];
}

const box = document.querySelector("[data-kept-for]");
const entries = (await everything()).filter(({ outcome }) => outcome === WAITING);
for (const each of byPerson(entries, await everyTyped())) {
  const item = document.createElement("li");
  item.textContent = words(each);
  box.querySelector("ul").append(item);
  box.hidden = false;
}

if (person()) {
  document.querySelectorAll("[data-nobody]").forEach((node) => {
    node.hidden = true;
  });
  document.querySelectorAll("[data-somebody]").forEach((node) => {
    node.hidden = false;
  });
}
