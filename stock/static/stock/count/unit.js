// The counting unit beside a field: what a bare number means. One tap takes the next.

import { understand } from "./understanding.js";
import { Words } from "./words.js";

function isBare(text, line) {
  const data = { ...line.data, counting_unit: null };
  const { readings } = understand(text, { data, words: new Words(data, line.sheet.grammar) });
  return Boolean(readings?.length);
}

function label(line) {
  const unit = line.data.counting_unit;
  line.unitButton.textContent = unit ?? "unit?";
  line.unitButton.setAttribute("aria-label", `A bare number of ${line.name} means ${unit ?? "no unit yet"}. Next unit`);
}

// The page's own list of units takes two taps; a button takes one.
export function showUnit(line) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "count-unit";
  button.dataset.tool = "unit";
  button.tabIndex = -1; // the tab goes from line to line
  button.hidden = !line.data.unit_choices?.length;
  // A tap leaves the field in hand, and the phone's keyboard where it is.
  button.addEventListener("pointerdown", (event) => event.preventDefault());
  line.unitButton = button;
  label(line);
  line.node.querySelector("[data-unit]")?.replaceWith(button);
}

// What the field says, a bare number with its unit: it reads the same anywhere.
export function wholeText(line) {
  const text = line.input.value.trim();
  const unit = line.data.counting_unit;
  return text && unit && isBare(text, line) ? `${text} ${unit}` : text;
}

// Takes the next unit, for the number in the field too; returns whether that changed.
export function takeNextUnit(line) {
  const { unit_choices: units, counting_unit: was } = line.data;
  const text = line.input.value.trim();
  const number = was && text.endsWith(` ${was}`) ? text.slice(0, -was.length).trim() : text;
  line.data.counting_unit = units[(units.indexOf(was) + 1) % units.length];
  label(line);
  if (!number || !isBare(number, line)) {
    return false;
  }
  line.input.value = number === text ? text : `${number} ${line.data.counting_unit}`;
  return true;
}
