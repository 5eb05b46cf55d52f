// Other ways to read the same keys, and how likely each slip is beforehand: the right
// number of the wrong word, two digits swapped, the point moved, a digit struck twice.

import { compare, fraction, fromText, inDecimals, times } from "./fractions.js";
import { unmistaken } from "./meanings.js";
import { keyOf } from "./tokens.js";

const TENTH = fraction(1n, 10n);
const TEN = fraction(10n);

// What a number may have been meant to be, by its text, each with its weight.
function misread(number, rules) {
  const digits = inDecimals(number);
  const meant = new Map();
  const add = (value, weight) => meant.set(`${value.top}/${value.bottom}`, { value, weight });
  if (digits === null || !number.top) {
    return [];
  }
  for (let place = 0; place < digits.length - 1; place += 1) {
    const [one, other] = digits.slice(place, place + 2);
    const pair = one === other ? one : other + one;
    if (one !== "." && other !== ".") {
      add(fromText(digits.slice(0, place) + pair + digits.slice(place + 2)), 1);
    }
  }
  if (digits.replace(".", "").length > 1) {
    add(times(number, TENTH), 1);
  }
  add(times(number, TEN), digits.includes(".") ? 1 : rules.unlikely_zero);
  return [...meant.values()];
}

// An own word is mixed up with the units in which the item's words are given.
function wordsFor(typed, words, rules) {
  const key = keyOf(typed);
  const word = words.ownByForm.get(key)?.word ?? words.grammar.unit_by_form[key];
  const { words: ownWords, base_unit: base, given_in: givenIn, bare_units: bare } = words.line;
  const own = ownWords.map((each) => each.word);
  const like = own.includes(word) ? [base, ...givenIn] : [word];
  const likely = [...own, ...givenIn, ...bare];
  const units = rules.mixed_up_units
    .filter((alike) => alike.some((unit) => like.includes(unit)))
    .flat()
    .filter((unit) => unit in words.baseByUnit);
  return [...own, ...units]
    .filter((each) => each !== word)
    .map((each) => ({ value: unmistaken(each, words), weight: likely.includes(each) ? 1 : rules.unlikely_word }));
}

// How likely people say an amount in such parts, from 0 to 1.
export function saidSo(terms, words, rules) {
  const bases = terms.map(({ word }) => words.base(word));
  const isOdd = terms.some(({ number }, place) => {
    const [base, larger] = [bases[place], bases[place - 1]];
    const isPiece = words.line.base_unit === "each" && base.top === base.bottom;
    const isLess = !larger || (compare(base, larger) < 0 && compare(times(number, base), larger) < 0);
    return !isLess || (isPiece && number.bottom > 4n);
  });
  return isOdd ? rules.odd_saying : 1;
}

export function* misreadings(terms, words, rules) {
  for (const [place, { number, word }] of terms.entries()) {
    for (const [kind, all, meant] of [
      ["pack", wordsFor(word, words, rules), (value) => ({ number, word: value })],
      ["digits", misread(number, rules), (value) => ({ number: value, word })],
    ]) {
      const sum = all.reduce((total, { weight }) => total + weight, 0);
      for (const { value, weight } of all) {
        const other = terms.with(place, meant(value));
        const share = (rules[`${kind}_share`] / terms.length) * (weight / sum);
        yield { kind, terms: other, share: share * saidSo(other, words, rules) };
      }
    }
  }
}
