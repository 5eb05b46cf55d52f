// Says an entry back as it was understood: 2 cases + 6 lb = 78 lb.

import { compare, fromText, over, rounded } from "./fractions.js";
import { keyOf } from "./tokens.js";

// Whether two parts are said in one breath: pounds and their ounces.
function isLoose(before, term, words) {
  const { measures, unit_by_form: units } = words.grammar;
  const measure = ({ word }) => measures[units[keyOf(word)]];
  return (
    words.line.measure !== "count" &&
    ![before, term].some(({ word }) => words.isOwn(word)) &&
    measure(before) === measure(term) &&
    compare(words.base(before.word), words.base(term.word)) > 0
  );
}

function isAllLoose(terms, words) {
  return terms.every((term, place) => !place || isLoose(terms[place - 1], term, words));
}

// With a plus between packs and what is loose, and none inside what is loose.
export function spelled(terms, words) {
  const parts = terms.map((term, place) => {
    const before = terms[place - 1];
    const between = before ? (isLoose(before, term, words) ? " " : " + ") : "";
    return between + words.said(term.number, term.word);
  });
  return parts.join("");
}

// The whole in one everyday unit of the item; at most two places, or it says about.
// Blank for what is nothing to two places of the smaller unit.
export function total(base, words) {
  const { unit, small_unit: small, units } = words.line;
  const isSmall = compare(base, fromText(units[unit])) < 0;
  const said = isSmall ? small : unit;
  const amount = over(base, fromText(units[said]));
  const shown = rounded(amount, 2).replace(/\.?0+$/, "");
  const isExact = (amount.top * 100n) % amount.bottom === 0n;
  const isOne = compare(fromText(shown), fromText("1")) <= 0;
  return shown === "0" ? "" : `${isExact ? "" : "about "}${shown} ${isOne ? said : words.plural(said)}`;
}

export function echo(reading, words) {
  return words.named(inUnits(reading, words));
}

function inUnits(reading, words) {
  const { base, terms, tare } = reading;
  if (!base.top) {
    return "none";
  }
  const said = spelled(terms, words) + (tare ? ` less ${spelled(tare, words)}` : "");
  const { unit, small_unit: small } = words.line;
  const isPlain = !tare && isAllLoose(terms, words) && terms.every(({ word }) => [unit, small].includes(word));
  const whole = total(base, words);
  return isPlain || !whole ? said : `${said} = ${whole}`;
}
