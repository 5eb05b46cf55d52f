// Reads one part of a saying: `2 cases`, `half a bag`, `two and a half full tubs`.

import { NumberReader } from "./numbers.js";
import { Unreadable, severalReadings } from "./tokens.js";

export class TermReader extends NumberReader {
  term() {
    const number = this.number();
    if (!this.unitLength()) {
      this.take("word", this.grammar.filling);
    }
    return { number, word: this.unit() };
  }

  // The unit of a number that stands alone, or a question which one it is.
  bare() {
    const { counting_unit: unit, bare_units: units } = this.words.line;
    if (unit) {
      return this.words.whole(unit);
    }
    const [{ text }] = this.tokens;
    throw severalReadings(text, units.map((each) => `${text} ${each}`));
  }

  unit() {
    const token = this.peek();
    if (token.kind === "end" && this.place === 1) {
      return this.bare();
    }
    const marked = token.kind === "mark" && this.grammar.unit_by_mark[token.text];
    const length = marked ? 1 : this.unitLength();
    this.refuseComma(token);
    if (!marked && !length && (token.kind !== "word" || this.isOfTheGrammar(token.key))) {
      const number = this.tokens[this.place - 1]?.text ?? "";
      const word = this.words.line.words[0]?.word ?? this.words.line.base_unit;
      throw new Unreadable(`${number} of what? Write ${number} ${word}.`);
    }
    const typed = this.tokens.slice(this.place, this.place + (length || 1));
    if (typed.at(-1).text.endsWith(".") && this.tokens[this.place + typed.length]?.isGlued) {
      throw new Unreadable("The point could end a word or start a number. Put a space there.");
    }
    const word = marked || this.words.whole(typed.map((each) => each.text).join(" "));
    this.words.base(word);
    this.place += typed.length;
    return word;
  }

  // 1,000 or 2,5: what a comma means is not the same everywhere.
  refuseComma({ kind, text }) {
    const [before, after] = [this.tokens[this.place - 1], this.peek(1)];
    if (kind === "mark" && text === "," && before?.kind === "number" && after.kind === "number") {
      const whole = after.text.length === 3 ? `${before.text}${after.text} or ` : "";
      throw new Unreadable(`A comma cannot be read. Write ${whole}${before.text}.${after.text}.`);
    }
  }

  // These are never the first letters of a unit.
  isOfTheGrammar(key) {
    const { joining_words: joining, less, numbers, shares } = this.grammar;
    return joining.includes(key) || less.includes(key) || key in numbers || key in shares;
  }
}
