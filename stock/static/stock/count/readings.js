// Other ways to read the same keys: the right number of the wrong word, two digits
// swapped, the point moved.

import { fraction, fromText, inDecimals, times } from "./fractions.js";
import { unmistaken } from "./meanings.js";
import { keyOf } from "./tokens.js";

const TENTH = fraction(1n, 10n);
const TEN = fraction(10n);

function* misread(number) {
  const digits = inDecimals(number);
  if (digits === null || !number.top) {
    return;
  }
  for (let place = 0; place < digits.length - 1; place += 1) {
    const [first, second] = digits.slice(place, place + 2);
    if (first !== second && first !== "." && second !== ".") {
      yield fromText(digits.slice(0, place) + second + first + digits.slice(place + 2));
    }
  }
  if (digits.replace(".", "").length > 1) {
    yield times(number, TENTH);
  }
  if (digits.includes(".")) {
    yield times(number, TEN);
  }
}

// An own word is mixed up with the units in which the item's words are given.
function mixedUpWith(typed, words, alikes) {
  const key = keyOf(typed);
  const word = words.ownByForm.get(key)?.word ?? words.grammar.unit_by_form[key];
  const own = words.line.words.map((each) => each.word);
  const like = own.includes(word) ? [words.line.base_unit, ...words.line.given_in] : [word];
  const units = alikes
    .filter((alike) => alike.some((unit) => like.includes(unit)))
    .flat()
    .filter((unit) => unit in words.baseByUnit);
  return [...own, ...units].filter((each) => each !== word).map((each) => unmistaken(each, words));
}

export function* otherReadings(terms, words, alikes) {
  for (const [place, { number, word }] of terms.entries()) {
    for (const other of mixedUpWith(word, words, alikes)) {
      yield { kind: "pack", terms: terms.with(place, { number, word: other }) };
    }
    for (const other of misread(number)) {
      yield { kind: "digits", terms: terms.with(place, { number: other, word }) };
    }
  }
}
