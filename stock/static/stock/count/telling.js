// Says what the server answered where an entry was not simply taken.

import { forget } from "./queue.js";

const NEEDS_NO_WORD = ["waiting", "taken", "replaced", "apart"];

function note(entry) {
  const item = document.createElement("li");
  item.dataset.entry = entry.key;
  item.textContent = `${entry.item_name}, ${entry.text || "blank"}: ${entry.sentence}`;
  return item;
}

// Entries that came too late stay in a list of their own, with what to do.
export function tell(entries) {
  const box = document.querySelector("[data-kept-here]");
  const list = box.querySelector("ul");
  for (const entry of entries) {
    list.querySelector(`[data-entry="${entry.key}"]`)?.remove();
    if (!NEEDS_NO_WORD.includes(entry.outcome)) {
      list.append(note(entry));
    }
  }
  box.hidden = !list.children.length;
}

// They go only when somebody says so.
export function forgetWhenSeen() {
  const box = document.querySelector("[data-kept-here]");
  box.querySelector("[data-seen]").addEventListener("click", async () => {
    const notes = [...box.querySelectorAll("[data-entry]")];
    await forget(notes.map((node) => node.dataset.entry));
    notes.forEach((node) => node.remove());
    box.hidden = true;
  });
}
