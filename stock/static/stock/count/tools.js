// The buttons under the line in hand: the item's words, tenths, none, the tare.

const UNFINISHED = /[0-9¼½¾⅓⅔⅛⅜⅝⅞]$/;
const LAST_WORD = /(.*[0-9¼½¾⅓⅔⅛⅜⅝⅞]\s*)\p{L}[^+&,;0-9]*$/su;

// What the field says after a word was tapped: it ends a number, or corrects a word.
export function withWord(text, word) {
  const typed = text.trim();
  if (UNFINISHED.test(typed)) {
    return `${typed} ${word} `;
  }
  const [, before] = typed.match(LAST_WORD) ?? [];
  return before === undefined ? `${typed ? `${typed} ` : ""}1 ${word} ` : `${before.trim()} ${word} `;
}

export function withTenth(text, tenth) {
  const typed = text.trim();
  const [, before, whole] = typed.match(/^(.*?)([0-9]+)(?:\.[0-9]*)?$/s) ?? [];
  return whole === undefined ? `${typed ? `${typed} ` : ""}0.${tenth}` : `${before}${whole}.${tenth}`;
}

export function withHalf(text) {
  return `${text.trim()} 1/2`.trim();
}

export function withTare(text, name) {
  return `${text.trim().replace(/\s+-\s.*$/, "")} - ${name}`;
}

function button(label, tool, value = "") {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = label;
  made.dataset.tool = tool;
  made.dataset.value = value;
  made.tabIndex = -1; // keys have Enter; the tab goes from line to line
  return made;
}

export class Tools {
  constructor(mode) {
    this.bar = document.createElement("div");
    this.bar.className = "count-tools";
    this.bar.setAttribute("role", "group");
    this.mode = mode;
    // A tap leaves the field in hand, and the phone's keyboard where it is.
    this.bar.addEventListener("pointerdown", (event) => event.preventDefault());
  }

  under(line) {
    const { buttons, tares } = line.data;
    const tenths = [1, 2, 3, 4, 5, 6, 7, 8, 9].map((tenth) => button(`.${tenth}`, "tenth", `${tenth}`));
    this.tenths = document.createElement("div");
    this.tenths.className = "count-tenths";
    this.tenths.hidden = true;
    this.tenths.append(...tenths);
    this.bar.setAttribute("aria-label", `Quick words for ${line.name}`);
    this.bar.replaceChildren(
      ...buttons.map((word) => button(word, "word", word)),
      button("½", "half"),
      button("tenths", "tenths"),
      ...Object.keys(tares).map((name) => button(`− ${name}`, "tare", name)),
      button("none", "none"),
      button(this.mode.isDigits ? "abc" : "123", "keys"),
      button("next", "next"),
      this.tenths,
    );
    line.node.append(this.bar);
  }

  apply(tool, value, text) {
    const changes = { word: withWord, tenth: withTenth, half: withHalf, tare: withTare };
    return changes[tool]?.(text, value);
  }
}
