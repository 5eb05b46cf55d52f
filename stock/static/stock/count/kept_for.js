// On the page for signing in, and where a sheet is locked: what is on this phone that
// the kitchen has not got, and whose it is. What it says stays closed.

import { pagesOf, person } from "./person.js";
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

// The sheets of whoever has the phone open that are kept on it, by their names.
async function sheetsHere(id) {
  const cache = await caches.open(pagesOf(id));
  const isSheet = ({ url }) => /\/count\/\d+\/\d+\/$/.test(new URL(url).pathname);
  const sheets = (await cache.keys()).filter(isSheet);
  return Promise.all(sheets.map(async (request) => {
    const page = await (await cache.match(request)).text();
    const title = new DOMParser().parseFromString(page, "text/html").querySelector("h1");
    return { url: request.url, name: title?.textContent.trim() ?? "Your sheet" };
  }));
}

function way({ url, name }) {
  const [item, link] = [document.createElement("li"), document.createElement("a")];
  link.href = url;
  link.textContent = name;
  item.append(link);
  return item;
}

if (person()) {
  const sheets = globalThis.caches ? await sheetsHere(person()).catch(() => []) : [];
  const back = document.querySelector("[data-sheets-here]");
  back.hidden = !sheets.length;
  back.querySelector("ul").replaceChildren(...sheets.map(way));
  document.querySelectorAll("[data-nobody]").forEach((node) => {
    node.hidden = true;
  });
  document.querySelectorAll("[data-somebody]").forEach((node) => {
    node.hidden = false;
  });
}
