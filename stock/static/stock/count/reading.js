// Reads what a person says of one line, exactly as the server does.
//   read("2c 6lb", new Words(line, grammar)) -> { base, terms, tare }; null where blank
// A bare number means the line's counting_unit; without one it is asked about.

import { ZERO, compare, fraction, fromText, minus, plus, times } from "./fractions.js";
import { TermReader } from "./terms.js";
import { Unreadable, keyOf } from "./tokens.js";

const LARGEST_BASE = fraction(10n ** 10n);
const MOST_WORDS_A_TARE = 3;
// What the server takes for a space as well, and this language does not.
const ALSO_SPACE = /[\x1c-\x1f\x85]/g;

class Reader extends TermReader {
  takeLess() {
    return this.take("mark", this.grammar.minus_marks) || this.take("word", this.grammar.less);
  }

  said() {
    const terms = [this.term()];
    while (this.place < this.tokens.length) {
      if (this.takeLess()) {
        return { terms, tare: this.tare() };
      }
      this.takeJoiner();
      terms.push(this.term());
    }
    return { terms, tare: null };
  }

  tare() {
    const token = this.peek();
    const isNamed = token.kind === "word" && !(token.key in this.grammar.numbers);
    const terms = isNamed ? this.storedTare() : this.weighedTare();
    this.take("word", [this.grammar.tare]);
    if (this.place < this.tokens.length) {
      throw new Unreadable("The tare comes last, as in 18.64 lb - bin.");
    }
    return terms;
  }

  storedTare() {
    const typed = [];
    while (this.peek().kind === "word" && typed.length < MOST_WORDS_A_TARE) {
      typed.push(this.peek().text);
      this.place += 1;
    }
    if (typed.length > 1 && keyOf(typed.at(-1)) === this.grammar.tare) {
      typed.pop();
    }
    const tare = this.words.tare(typed.join(" "));
    if (!tare) {
      throw new Unreadable(`No tare is called “${typed.join(" ")}”. Write its weight, such as 2.15 lb.`);
    }
    return tare.map(([number, word]) => ({ number: fromText(number), word }));
  }

  weighedTare() {
    const number = this.number();
    const token = this.tokens.slice(this.place).find((each) => each.kind === "word");
    const stored = token && this.words.tare(token.text);
    if (stored) {
      this.place += 1;
      return stored.map(([each, word]) => ({ number: times(number, fromText(each)), word }));
    }
    const terms = [{ number, word: this.unit() }];
    while (this.peek().kind === "number") {
      terms.push(this.term());
    }
    return terms;
  }
}

function baseOf(terms, words) {
  const add = (sum, term) => plus(sum, times(term.number, words.base(term.word)));
  const total = terms.reduce(add, ZERO);
  if (compare(total, LARGEST_BASE) > 0) {
    throw new Unreadable("That is more than a bakery can hold.");
  }
  return total;
}

export function read(text, words) {
  const typed = text.normalize("NFC").replace(ALSO_SPACE, " ").trim();
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
  const { terms, tare } = new Reader(typed, words).said();
  const gross = baseOf(terms, words);
  const off = tare ? baseOf(tare, words) : ZERO;
  if (compare(off, gross) > 0) {
    throw new Unreadable("The tare is more than the scale shows.");
  }
  return { base: minus(gross, off), terms, tare };
}
