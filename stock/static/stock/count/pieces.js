// Goes through the pieces of one text: looks ahead, takes, and says what is wrong.

import { compare, fromText } from "./fractions.js";
import { LARGEST_NUMBER, Unreadable, keyOf, tokensOf } from "./tokens.js";

const COMMA = /[0-9]+(?:,[0-9]+)+(?:\.[0-9]+)?/y;

// What a number with a comma may have meant, the likelier first: 1500 or 1.500.
function withoutComma(written) {
  const plain = written.replaceAll(",", "");
  if (written.split(",").length > 2 || written.includes(".")) {
    return [plain];
  }
  const pointed = written.replace(",", ".");
  return written.split(",")[1].length === 3 ? [plain, pointed] : [pointed];
}

export class PieceReader {
  constructor(text, words, countingUnit) {
    this.text = text;
    this.words = words;
    this.grammar = words.grammar;
    this.countingUnit = countingUnit;
    this.tokens = tokensOf(text, words.isKnown, this.grammar);
    this.place = 0;
  }

  peek(ahead = 0) {
    const end = this.text.length;
    return this.tokens[this.place + ahead] ?? { kind: "end", text: "", key: "", start: end, end };
  }

  take(kind, keys) {
    const token = this.peek();
    const isTaken = token.kind === kind && keys.includes(token.key);
    this.place += isTaken ? 1 : 0;
    return isTaken;
  }

  // How many of the next words are, together, a unit or an own word.
  unitLength() {
    for (let length = this.grammar.most_words_a_unit; length > 0; length -= 1) {
      const words = this.tokens.slice(this.place, this.place + length);
      const key = keyOf(words.map((word) => word.text).join(" "));
      if (words.length === length && words.every((word) => word.kind === "word") && this.words.isExact(key)) {
        return length;
      }
    }
    return 0;
  }

  // `of a` after a share, or the `a` of half a bag.
  takeBeforeUnit() {
    const hasOf = this.take("word", ["of"]);
    return this.take("word", this.grammar.before_unit.filter((word) => word !== "of")) || hasOf;
  }

  // The dash of 1-1/2, with nothing on either side of it.
  isDashInNumber(token) {
    const [dash, after] = [this.peek(), this.peek(1)];
    const isDash = dash.kind === "mark" && this.grammar.minus_marks.includes(dash.text);
    return isDash && Boolean(after.figure?.isFraction) && token.end === dash.start && dash.end === after.start;
  }

  // The x of 36 x 1 lb.
  takeTimes() {
    const [sign, size] = [this.peek(), this.peek(1)];
    const isSign = sign.kind === "word" ? sign.key === "x" : this.grammar.times_marks.includes(sign.text);
    const isTimes = isSign && size.kind === "number" && !this.words.isOwn(sign.text);
    this.place += isTimes ? 1 : 0;
    return isTimes;
  }

  // 1,000 or 2,5: what a comma means is not the same everywhere.
  withComma({ start }) {
    COMMA.lastIndex = start;
    const [comma] = COMMA.exec(this.text) ?? [];
    if (!comma) {
      return null;
    }
    const end = start + comma.length;
    while (this.peek().kind !== "end" && this.peek().start < end) {
      this.place += 1;
    }
    const values = withoutComma(comma).map(fromText);
    if (this.tokens[this.place - 1].end !== end || compare(values[0], LARGEST_NUMBER) > 0) {
      throw new Unreadable(`A comma cannot be read. Write ${withoutComma(comma).join(" or ")}.`);
    }
    return { values, text: comma, isDoubtful: true };
  }

  isMinus({ kind, text }) {
    return kind === "mark" && this.grammar.minus_marks.includes(text);
  }

  noUnit({ text, values: [value] }) {
    const said = this.words.units.map((unit) => this.words.said(value, unit));
    return `${text} has no unit. Write what it counts, such as ${said.join(" or ")}.`;
  }

  explained() {
    const [token, before] = [this.peek(), this.tokens[this.place - 1]];
    const example = this.words.example();
    const isNumber = (piece) => piece.kind === "number" || (piece.kind === "word"
      && (Object.hasOwn(this.grammar.numbers, piece.key) || Object.hasOwn(this.grammar.shares, piece.key)));
    if (before && isNumber(before)) {
      return new Unreadable(this.isMinus(token)
        ? "It has a dash. Write one number, such as 2.5 or 1 3/4."
        : this.noUnit(this.last));
    }
    if (token.kind === "end") {
      return new Unreadable(`Something is missing. Write a number and a unit, such as ${example}.`);
    }
    if (this.isMinus(token)) {
      return new Unreadable(`It cannot be negative. Write how much there is, such as ${example}.`);
    }
    const length = this.unitLength();
    const unit = this.tokens.slice(this.place, this.place + length).map((word) => word.text).join(" ");
    return new Unreadable(length
      ? `Write a number before ${unit}, such as ${example}.`
      : `“${token.text}” cannot be read. Write a number and a unit, such as ${example}.`);
  }
}
