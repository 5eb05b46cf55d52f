// Reads what a person says of one line, exactly as the server does.
//   read("2c 6lb", new Words(line, grammar)) -> { base, terms, tare }; null where blank
// A bare number means the line's counting_unit; without one it is asked about.

import { ZERO, compare, fraction, fromText, minus, plus, times } from "./fractions.js";
import { TermReader } from "./terms.js";
import { Unreadable, keyOf, severalReadings, tidy } from "./tokens.js";

const LARGEST_BASE = fraction(10n ** 10n);

class Reader extends TermReader {
  takeLess() {
    return this.take("mark", this.grammar.minus_marks) || this.take("word", this.grammar.less);
  }

  takeJoiner() {
    return this.take("mark", this.grammar.joining_marks) || this.take("word", this.grammar.joining_words);
  }

  // Every way to read the text: { readings, isDoubtful }.
  readings() {
    const parts = [this.part(null, false)];
    let [tare, addsToo] = [[], false];
    while (this.peek().kind !== "end") {
      const less = this.peek();
      if (this.takeLess()) {
        const off = this.tare();
        tare = off.parts;
        addsToo = less.kind === "mark" && !off.isTare && this.mayAdd(parts, tare);
        break;
      }
      const isJoined = this.takeJoiner();
      parts.push(this.part(parts.at(-1), isJoined));
    }
    const most = this.grammar.most_readings;
    const isDoubtful = [...parts, ...tare].some((part) => part.isDoubtful);
    let readings = combined(parts, tare, most);
    if (addsToo) {
      const added = combined([...parts, ...tare], [], most);
      readings = parts.at(-1).isWhole ? [...added, ...readings] : [...readings, ...added];
    }
    return { readings, isDoubtful };
  }

  tare() {
    const token = this.peek();
    const isNamed = token.kind === "word" && !Object.hasOwn(this.grammar.numbers, token.key);
    const { parts, isTare } = isNamed ? this.storedTare() : this.weighedTare();
    const isCalledSo = this.take("word", ["tare"]);
    if (this.peek().kind !== "end") {
      throw new Unreadable("The tare comes last, as in 18.64 lb - bin.");
    }
    return { parts, isTare: isTare || isCalledSo };
  }

  fixed(terms, number = fraction(1n)) {
    return terms.map(([each, word]) => {
      const term = { number: times(number, fromText(each)), word };
      return { terms: [term], labels: [this.words.said(term.number, word)], isDoubtful: false };
    });
  }

  storedTare() {
    const typed = [];
    while (this.peek().kind === "word" && typed.length < this.grammar.most_words_a_unit) {
      typed.push(this.peek().text);
      this.place += 1;
    }
    if (typed.length > 1 && keyOf(typed.at(-1)) === "tare") {
      typed.pop();
    }
    const tare = this.words.tare(typed.join(" "));
    if (!tare) {
      throw new Unreadable(`No tare is called “${typed.join(" ")}”. Write its weight, such as 2.15 lb.`);
    }
    return { parts: this.fixed(tare), isTare: true };
  }

  weighedTare() {
    const start = this.place;
    const amount = this.amount();
    const token = this.peek();
    const stored = token.kind === "word" && this.words.tare(token.text);
    this.isInTare = true;
    if (stored) {
      this.place += 1;
      return { parts: this.fixed(stored, amount.values[0]), isTare: true };
    }
    this.place = start;
    const parts = [this.part(null, false)];
    while (this.peek().kind === "number") {
      parts.push(this.part(parts.at(-1), false));
    }
    return { parts, isTare: false };
  }

  // The dash in `2 lb - 3 oz` may only stand between the two.
  mayAdd(parts, tare) {
    const base = (part) => this.words.base(part.terms[0].word);
    return compare(base(tare[0]), base(parts.at(-1))) < 0;
  }
}

function combined(parts, tare, most) {
  let chosen = [[]];
  for (const { terms, labels } of [...parts, ...tare]) {
    const choices = terms.map((term, place) => ({ term, label: labels[place] }));
    chosen = chosen.flatMap((before) => choices.map((choice) => [...before, choice]));
  }
  const joined = (choices) => choices.map(({ label }) => label).join(" + ");
  return chosen.slice(0, most).map((choices) => {
    const [gross, off] = [choices.slice(0, parts.length), choices.slice(parts.length)];
    return {
      terms: gross.map(({ term }) => term),
      tare: off.length ? off.map(({ term }) => term) : null,
      label: joined(gross) + (off.length ? ` less ${joined(off)}` : ""),
    };
  });
}

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
  throw severalReadings(reader.text, kept.map(({ label }) => label));
}

export function read(text, words, countingUnit = words.line.counting_unit) {
  const typed = tidy(text);
  if (!typed) {
    return null;
  }
  if (text.length > words.grammar.longest) {
    throw new Unreadable("That is too long. Write an amount, such as 2 lb.");
  }
  if (words.grammar.none.includes(keyOf(typed))) {
    const nothing = { number: ZERO, word: words.line.base_unit };
    return { base: ZERO, terms: [nothing], tare: null };
  }
  const { base, terms, tare } = choose(new Reader(typed, words, countingUnit));
  return { base, terms, tare };
}
