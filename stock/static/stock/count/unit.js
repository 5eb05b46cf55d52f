// The counting unit beside a field: what a bare number means. One tap takes the next.

import { spelled } from "./echo.js";
import { compare } from "./fractions.js";
import { understand } from "./understanding.js";
import { Words } from "./words.js";

// What a text comes to beside a field with no unit; null where it cannot be read there.
function baseAlone(text, line) {
  const data = { ...line.data, counting_unit: null };
  const { reading } = understand(text, { data, words: new Words(data, line.sheet.grammar) });
  return reading?.base ?? null;
}

function isBare(text, line) {
  const [unit] = line.data.unit_choices ?? [];
  return baseAlone(text, line) === null && baseAlone(`${text} ${unit}`, line) !== null;
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

// What the field says, so that it reads the same anywhere: a bare number with its unit,
// and what a unit settles, such as 1 case 5, in full.
export function wholeText(line) {
  const text = line.input.value.trim();
  const { reading } = line.understood();
  if (!text || !reading || !line.data.counting_unit) {
    return text;
  }
  const isSame = (whole) => {
    const base = baseAlone(whole, line);
    return base !== null && compare(base, reading.base) === 0;
  };
  const off = reading.tare ? ` less ${spelled(reading.tare, line.words)}` : "";
  const written = [text, `${text} ${line.data.counting_unit}`];
  return written.find(isSame) ?? spelled(reading.terms, line.words) + off;
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
