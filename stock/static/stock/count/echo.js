// Says an entry back as it was understood: 2 cases + 6 lb = 78 lb.

import { fromText, inWords, over, rounded } from "./fractions.js";

export function spelled(terms, words) {
  return terms.map(({ number, word }) => words.said(number, word, inWords(number))).join(" + ");
}

// The whole in one everyday unit of the item; at most two places, or it says about.
export function total(base, words) {
  const unit = words.line.unit;
  const amount = over(base, fromText(words.line.units[unit]));
  const shown = rounded(amount, 2).replace(/\.?0+$/, "");
  const isExact = amount.top * 100n % amount.bottom === 0n;
  return `${isExact ? "" : "about "}${shown} ${shown === "1" ? unit : words.plural(unit)}`;
}

export function echo(reading, words) {
  const { base, terms, tare } = reading;
  if (!base.top) {
    return "none";
  }
  const said = spelled(terms, words) + (tare ? ` less ${spelled(tare, words)}` : "");
  const isPlain = terms.length === 1 && !tare && terms[0].word === words.line.unit;
  return isPlain ? said : `${said} = ${total(base, words)}`;
}
