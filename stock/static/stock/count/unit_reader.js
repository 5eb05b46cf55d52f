// Reads the unit of a number: a unit, a word of the item's, #, a can's size, or none.

import { AmountReader } from "./numbers.js";
import { meanings, unmistaken } from "./meanings.js";
import { compare, fraction, inWords, plus } from "./fractions.js";
import { Unreadable, keyOf, severalReadings } from "./tokens.js";

export class UnitReader extends AmountReader {
  unit(amount, before, isJoined) {
    const token = this.peek();
    if (token.kind === "mark" && token.text === "#" && this.isSize()) {
      return this.sized(amount);
    }
    const marked = token.kind === "mark" && this.unitOfMark(token.text);
    if (marked) {
      this.place += 1;
      return this.known(marked);
    }
    const length = this.unitLength() || this.nounLength();
    if (!length && (token.kind !== "word" || this.grammar.grammar_words.includes(token.key))) {
      return this.bare(amount, before, isJoined);
    }
    const typed = this.tokens.slice(this.place, this.place + (length || 1));
    const after = this.tokens[this.place + typed.length];
    if (typed.at(-1).text.endsWith(".") && after?.kind === "number" && typed.at(-1).end === after.start) {
      throw new Unreadable("The point could end a word or start a number. Put a space there.");
    }
    this.place += typed.length;
    return this.meant(typed.map((each) => each.text).join(" "));
  }

  unitOfMark(mark) {
    if (mark === '"') {
      return this.grammar.inch_words.find((word) => this.words.isOwn(word)) ?? this.grammar.inch_words[0];
    }
    return Object.hasOwn(this.grammar.unit_by_mark, mark) && this.grammar.unit_by_mark[mark];
  }

  known(word) {
    this.words.base(word);
    return { words: [word], isDoubtful: false };
  }

  meant(typed) {
    const found = meanings(typed, this.words, this.countingUnit);
    if (!found.words.length && this.words.nouns.has(keyOf(typed).split(" ").at(-1))) {
      return this.known("each");
    }
    if (found.words.length < 2) {
      this.words.base(found.words[0] ?? typed);
    }
    return found;
  }

  // How many words name the item: 24 large eggs.
  nounLength() {
    let length = 0;
    while (this.peek(length).kind === "word" && this.words.names.has(this.peek(length).key)) {
      length += 1;
    }
    while (length && !this.words.nouns.has(this.peek(length - 1).key)) {
      length -= 1;
    }
    return length;
  }

  // The slash of `6/#10 can`: six of that size.
  takeSlashOfSize() {
    this.place += this.peek().text === "/" && this.peek(1).text === "#" ? 1 : 0;
  }

  // The mark of a can's size: #10 can, but not 6#.
  isSize() {
    return this.peek(1).kind === "number" && this.peek().end === this.peek(1).start;
  }

  // The can of that size, else the can that the item knows.
  sized(amount) {
    const [before, mark, size] = [this.tokens[this.place - 1], this.peek(), this.peek(1)];
    const touches = before.end === mark.start;
    this.place += 2;
    const length = this.unitLength() || 1;
    const typed = this.tokens.slice(this.place, this.place + length).map((each) => each.text).join(" ");
    const own = this.words.ownByForm.get(keyOf(`#${size.text} ${typed}`));
    const found = own ? { words: [own.word], isDoubtful: false } : meanings(typed, this.words);
    const [word] = found.words;
    if (word === undefined || !this.words.takes(word)) {
      throw new Unreadable(`#${size.text} is a can size. Write the can as the item's page names it, or another unit.`);
    }
    const [isOwn, isGlued] = [this.words.isOwn(word), before.kind === "number" && touches];
    if (isGlued && !isOwn) {
      this.place -= 1; // 2#10oz: two pounds and ten ounces
      return this.known("lb");
    }
    if (isGlued || !isOwn) {
      const pounds = `${this.words.said(amount.values[0], "lb")} + ${this.words.said(size.figure.values[0], word)}`;
      throw severalReadings(this.text, isOwn ? [`${inWords(amount.values[0])} #${size.text} ${word}`, pounds] : [pounds], this.words);
    }
    this.place += length;
    return found;
  }

  // The unit of a number that has none, or a question which one it is.
  bare(amount, before, isJoined) {
    const { words, countingUnit } = this;
    const value = amount.values[0];
    if (this.isInTare || !(this.peek().kind === "end" || this.isBeforeTare())) {
      throw this.explained();
    }
    if (amount.text.toLowerCase() === "no") {
      throw new Unreadable(`Write none if there is nothing, or how much there is: ${words.example()}.`);
    }
    if (!before) {
      const nothing = { words: [words.line.base_unit], isDoubtful: false };
      const counted = countingUnit ? this.countedIn(countingUnit) : this.anyOf(words.line.bare_units);
      return value.top ? counted : nothing;
    }
    const [last] = before.terms;
    const isSmaller = (unit) => compare(words.base(unit), words.base(last.word)) < 0;
    if (value.top && compare(value, fraction(1n)) < 0 && !isJoined) {
      throw this.halfOfWhich(last, value);
    }
    const counted = countingUnit && this.countedIn(countingUnit);
    if (counted && isSmaller(counted.words[0])) {
      return counted;
    }
    if (words.line.measure === "count" && compare(words.base(last.word), fraction(1n)) > 0) {
      return { words: ["each"], isDoubtful: false };
    }
    const smaller = words.line.bare_units.filter(isSmaller);
    if (!smaller.length) {
      throw this.explained();
    }
    return this.anyOf(smaller);
  }

  anyOf(units) {
    return { words: units.map((unit) => unmistaken(unit, this.words)), isDoubtful: true };
  }

  countedIn(unit) {
    const { words } = this;
    const key = keyOf(unit);
    const form = words.grammar.unit_by_form;
    const exact = words.ownByForm.get(key)?.word ?? (Object.hasOwn(form, key) ? form[key] : undefined);
    const word = exact ?? (words.nouns.has(key) && words.takes("each") ? "each" : unit);
    words.base(word);
    return { words: [unmistaken(word, words)], isDoubtful: false };
  }

  // `1 case 1/2`: half a case more, or half of something smaller?
  halfOfWhich(last, value) {
    const { words } = this;
    const unit = this.countingUnit ?? words.line.bare_units[0];
    const whole = words.said(plus(last.number, value), last.word);
    const beside = `${words.said(last.number, last.word)} + ${words.said(value, unit)}`;
    return severalReadings(this.text, keyOf(unit) === keyOf(last.word) ? [whole] : [whole, beside], words);
  }

  // Whether a stored tare follows: 18.64 - bin.
  isBeforeTare() {
    const [less, name] = [this.peek(), this.peek(1)];
    const isLess = less.kind === "mark" ? this.isMinus(less) : this.grammar.less.includes(less.key);
    return Boolean(this.countingUnit) && isLess && name.kind === "word" && !Object.hasOwn(this.grammar.numbers, name.key);
  }
}
