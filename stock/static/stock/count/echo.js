// Says an entry back as it was understood: 2 cases + 6 lb = 78 lb.

import { compare, fromText, over, rounded } from "./fractions.js";

export function spelled(terms, words) {
  return terms.map(({ number, word }) => words.said(number, word)).join(" + ");
}

// The whole in one everyday unit of the item; at most two places, or it says about.
export function total(base, words) {
  const { unit, small_unit: small, units } = words.line;
  const isSmall = compare(base, fromText(units[unit])) < 0;
  const said = isSmall ? small : unit;
  const amount = over(base, fromText(units[said]));
  const shown = rounded(amount, 2).replace(/\.?0+$/, "");
  const isExact = (amount.top * 100n) % amount.bottom === 0n;
  return `${isExact ? "" : "about "}${shown} ${shown === "1" ? said : words.plural(said)}`;
}

// So many of a thing by its name: 39 lemons, where units would say 39 each.
export function withNoun(text, noun) {
  const said = (_whole, number) => `${number} ${/^(1|\d+\/\d+)$/.test(number) ? noun[0] : noun[1]}`;
  return noun ? text.replace(/(\d[\d ./]*) each\b/g, said) : text;
}

export function echo(reading, words) {
  return withNoun(inUnits(reading, words), words.line.noun);
}

function inUnits(reading, words) {
  const { base, terms, tare } = reading;
  if (!base.top) {
    return "none";
  }
  const said = spelled(terms, words) + (tare ? ` less ${spelled(tare, words)}` : "");
  const { unit, small_unit: small } = words.line;
  const isPlain = terms.length === 1 && !tare && [unit, small].includes(terms[0].word);
  return isPlain ? said : `${said} = ${total(base, words)}`;
}
