// Says on every page of a count what is typed and not entered, with a way to it.

const MOST_NAMED = 3;

function way({ item_name: item, place_name: place, text, url, line }) {
  const link = document.createElement("a");
  link.href = url ?? "/count/";
  link.dataset.typedLine = line;
  link.textContent = `${item ?? "a line"}${place ? ` in ${place}` : ""}, “${text.trim()}”`;
  return link;
}

export function typedWords(number) {
  return `${number === 1 ? "1 line is" : `${number} lines are`} typed, not entered:`;
}

export class TypedList {
  constructor(box) {
    this.box = box;
  }

  show(typed) {
    const ways = typed.slice(0, MOST_NAMED).flatMap((each) => [" ", way(each)]);
    const more = typed.length > MOST_NAMED ? [` and ${typed.length - MOST_NAMED} more`] : [];
    this.box.hidden = !typed.length;
    this.box.replaceChildren(typedWords(typed.length), ...ways, ...more);
  }
}
