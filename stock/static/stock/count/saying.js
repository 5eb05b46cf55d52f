// Reads a whole saying, parts and tare, in every way it can be read.

import { compare, fraction, fromText, times } from "./fractions.js";
import { TermReader } from "./terms.js";
import { Unreadable, keyOf } from "./tokens.js";

export class Reader extends TermReader {
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
