// Reads how many: `2`, `1 3/4`, `half a`, `two and a half`.

import { ZERO, fromText, plus } from "./fractions.js";
import { Unreadable, keyOf, tokensOf } from "./tokens.js";

const MOST_WORDS_A_UNIT = 3;

export class NumberReader {
  constructor(text, words) {
    this.words = words;
    this.grammar = words.grammar;
    this.tokens = tokensOf(text, words.isKnown, this.grammar.minus_marks);
    this.place = 0;
  }

  peek(ahead = 0) {
    return this.tokens[this.place + ahead] ?? { kind: "end", text: "", key: "" };
  }

  take(kind, keys) {
    const token = this.peek();
    const isTaken = token.kind === kind && keys.includes(token.key);
    this.place += isTaken ? 1 : 0;
    return isTaken;
  }

  takeJoiner() {
    return this.take("mark", this.grammar.joining_marks) || this.take("word", this.grammar.joining_words);
  }

  number() {
    const token = this.peek();
    const spelled = token.kind === "word" ? this.grammar.numbers[token.key] : undefined;
    if (token.kind === "number" || spelled !== undefined) {
      this.place += 1;
      const share = ["a", "an"].includes(token.key) ? this.share() : null;
      return share ?? plus(spelled ? fromText(spelled) : token.number(), this.andAShare());
    }
    const share = this.share();
    if (!share) {
      const advice = token.text ? `Write a number before “${token.text}”` : "Write an amount";
      throw new Unreadable(`${advice}, such as 2 ${this.words.line.words[0]?.word ?? "lb"}.`);
    }
    this.take("word", ["a", "an"]);
    return share;
  }

  share() {
    const [token, after] = [this.peek(), this.peek(1)];
    const share = token.kind === "word" && this.grammar.shares[token.key];
    if (!share || after.kind !== "word" || this.unitLength() > 1) {
      return null;
    }
    this.place += 1;
    return fromText(share);
  }

  andAShare() {
    const start = this.place;
    if (this.take("word", ["and"])) {
      this.take("word", ["a"]);
      const share = this.share();
      if (share) {
        return share;
      }
    }
    this.place = start;
    return ZERO;
  }

  unitLength() {
    for (let length = MOST_WORDS_A_UNIT; length > 0; length -= 1) {
      const words = this.tokens.slice(this.place, this.place + length);
      const key = keyOf(words.map((word) => word.text).join(" "));
      if (words.length === length && words.every((word) => word.kind === "word") && this.words.known(key) !== undefined) {
        return length;
      }
    }
    return 0;
  }
}
