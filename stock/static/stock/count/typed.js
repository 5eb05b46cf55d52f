// Says on every page of a count what is typed and not entered, with a way to it.
//
// What has no line any more (its count is closed, its item retired) is said in full, and
// goes when somebody discards it.

import { strike } from "./journal.js";
import { storeTyped } from "./queue.js";

const MOST_NAMED = 3;

function name({ item_name: item, place_name: place, text }) {
  return `${item ?? "a line"}${place ? ` in ${place}` : ""}, “${text.trim()}”`;
}

function way(typed) {
  const link = document.createElement("a");
  link.href = typed.url ?? "/count/";
  link.dataset.typedLine = typed.line;
  link.textContent = name(typed);
  return link;
}

function discarding(label, job) {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = label;
  button.addEventListener("click", job);
  return button;
}

export function typedWords(number) {
  return `${number === 1 ? "1 line is" : `${number} lines are`} typed, not entered:`;
}

export class TypedList {
  constructor(box) {
    this.box = box;
  }

  // `isLost` tells which of them have no line to be entered on.
  show(typed, isLost = () => false) {
    const lost = typed.filter(isLost);
    const rest = typed.filter((each) => !isLost(each));
    const ways = rest.slice(0, MOST_NAMED).flatMap((each, place) => [place ? "; " : " ", way(each)]);
    const more = rest.length > MOST_NAMED ? [` and ${rest.length - MOST_NAMED} more`] : [];
    const between = rest.length && lost.length ? ";" : "";
    const said = lost.length ? [`${between} ${lost.map(name).join("; ")}. Enter it in the next count. `, this.discard(typed, isLost)] : [];
    this.box.hidden = !typed.length;
    this.box.replaceChildren(typedWords(typed.length), ...ways, ...more, ...said);
  }

  discard(typed, isLost) {
    return discarding("Discard", async () => {
      for (const each of typed.filter(isLost)) {
        await storeTyped({ ...each, text: "" });
        strike("typed", each.by, each.line, each);
      }
      this.show(typed.filter((each) => !isLost(each)));
    });
  }
}
