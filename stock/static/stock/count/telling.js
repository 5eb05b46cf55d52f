// Says what the server answered where an entry was not simply taken.

const SIMPLY_TAKEN = ["waiting", "taken"];

function note(entry) {
  const item = document.createElement("li");
  item.dataset.entry = entry.key;
  item.textContent = `${entry.item_name}, ${entry.text || "blank"}: ${entry.sentence}`;
  return item;
}

// Entries that came too late stay in a list of their own, with what to do.
export function tell(sheet, entries) {
  const box = document.querySelector("[data-kept-here]");
  const list = box.querySelector("ul");
  for (const entry of entries) {
    list.querySelector(`[data-entry="${entry.key}"]`)?.remove();
    if (!SIMPLY_TAKEN.includes(entry.outcome) && entry.outcome !== "replaced") {
      list.append(note(entry));
    }
  }
  box.hidden = !list.children.length;
}
