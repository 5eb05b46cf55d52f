// Reads what a person says of one line, exactly as the server does.
//   read("2c 6lb", new Words(line, grammar)) -> { base, terms, tare }; null where blank
// A bare number means the line's counting_unit; without one it is asked about.

import { ZERO, compare, fraction, minus, plus, times } from "./fractions.js";
import { Reader } from "./saying.js";
import { Unreadable, keyOf, severalReadings, tidy } from "./tokens.js";

const LARGEST_BASE = fraction(10n ** 10n);

function baseOf(terms, words) {
  const add = (sum, term) => plus(sum, times(term.number, words.base(term.word)));
  return terms.reduce(add, ZERO);
}

// The one way to read a text, or a question which of several is meant.
function choose(reader) {
  const { words } = reader;
  const { readings, isDoubtful } = reader.readings();
  const isTooLarge = (base) => compare(base, LARGEST_BASE) > 0;
  const different = new Map();
  for (const reading of readings) {
    const gross = baseOf(reading.terms, words);
    const off = reading.tare ? baseOf(reading.tare, words) : ZERO;
    const base = minus(gross, off);
    if (!isTooLarge(gross) && !isTooLarge(off)) {
      const key = `${base.top}/${base.bottom}`;
      different.set(key, different.get(key) ?? { ...reading, base });
    } else if (readings.length === 1) {
      throw new Unreadable("That is more than a bakery can hold.");
    }
  }
  // People say the larger unit first: a cup before a pound is none.
  const descends = ({ terms }) => terms.every(({ word }, place) =>
    !place || compare(words.base(terms[place - 1].word), words.base(word)) >= 0);
  const every = [...different.values()].filter(({ base }) => compare(base, ZERO) >= 0);
  if (!every.length) {
    throw new Unreadable("The tare is more than the scale shows.");
  }
  const descending = every.filter(descends);
  const kept = descending.length ? descending : every;
  if (kept.length === 1 && !isDoubtful) {
    return kept[0];
  }
  throw severalReadings(reader.text, kept.map(({ label }) => label), words);
}

export function read(text, words, countingUnit = words.line.counting_unit) {
  const typed = tidy(text);
  if (!typed) {
    return null;
  }
  if (text.length > words.grammar.longest) {
    throw new Unreadable("That is too long. Write a quantity, such as 2 lb.");
  }
  if (words.grammar.none.includes(keyOf(typed))) {
    const nothing = { number: ZERO, word: words.line.base_unit };
    return { base: ZERO, terms: [nothing], tare: null };
  }
  const { base, terms, tare } = choose(new Reader(typed, words, countingUnit));
  return { base, terms, tare };
}
