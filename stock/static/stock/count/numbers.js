// Reads how many: `2`, `1 3/4`, `1-1/2`, `36 x 1`, `half a`, `two and a half`.

import { PieceReader } from "./pieces.js";
import { ZERO, compare, fraction, fromText, plus, times } from "./fractions.js";

const ONE = fraction(1n);
const ARTICLES = ["a", "an"];

export class AmountReader extends PieceReader {
  isAmount({ kind, key, text }) {
    const { numbers, shares, about_words: about, about_marks: marks } = this.grammar;
    const begins = Object.hasOwn(numbers, key) || Object.hasOwn(shares, key) || about.includes(key);
    return kind === "number" || (kind === "word" ? begins : marks.includes(text));
  }

  // { values, the likelier first; ratio: what stands above and below a plain slash }
  amount() {
    this.last = this.readAmount();
    return this.last;
  }

  readAmount() {
    this.take("word", this.grammar.about_words) || this.take("mark", this.grammar.about_marks);
    const token = this.peek();
    if (token.kind === "number") {
      const withComma = this.withComma(token);
      if (withComma) {
        return withComma;
      }
      this.place += 1;
      return this.afterFigure(token);
    }
    if (token.kind === "word" && Object.hasOwn(this.grammar.numbers, token.key)) {
      this.place += 1;
      return this.afterNumberWord(token);
    }
    const share = this.share();
    if (!share) {
      throw this.explained();
    }
    this.takeBeforeUnit();
    return this.read([share], token);
  }

  read(values, token, ratio = null, isDoubtful = values.length > 1) {
    return { values, ratio, isDoubtful, text: this.text.slice(token.start, this.tokens[this.place - 1].end) };
  }

  afterFigure(token) {
    const { figure } = token;
    let { values, ratio } = figure;
    let isDoubtful = values.length > 1;
    if (figure.isWhole) {
      const [number] = values;
      if (this.isDashInNumber(token)) {
        values = [plus(number, this.peek(1).figure.values[0])];
        this.place += 2;
      } else if (number.top && this.takeTimes()) {
        const size = this.peek();
        this.place += 1;
        values = [times(number, size.figure.values[0])];
        isDoubtful = size.text.includes("/") && !size.text.startsWith("1/");
      } else {
        values = this.sharesOf(number) ?? [plus(number, this.andAShare())];
        isDoubtful = values.length > 1;
      }
    }
    if (compare(values[0], ONE) < 0 && this.takeBeforeUnit()) {
      ratio = null;
    }
    return this.read(values, token, ratio, isDoubtful);
  }

  afterNumberWord(token) {
    const value = this.grammar.numbers[token.key];
    let number = fraction(BigInt(value));
    if (ARTICLES.includes(token.key)) {
      const share = this.share();
      if (share) {
        this.takeBeforeUnit();
        return this.read([share], token);
      }
      if (this.take("word", ["couple"])) {
        number = fraction(2n);
        this.take("word", ["of"]);
      }
    } else if (token.key === "couple") {
      this.take("word", ["of"]);
    } else if (value >= 20) {
      number = plus(number, this.ones());
    }
    number = this.inHundreds(number, token.key === "hundred");
    const values = this.sharesOf(number) ?? [plus(number, this.andAShare())];
    if (compare(values[0], ONE) < 0) {
      this.takeBeforeUnit();
    }
    return this.read(values, token);
  }

  // The five of twenty five.
  ones() {
    const value = this.numberWord();
    if (value < 1 || value > 9) {
      return ZERO;
    }
    this.place += 1;
    return fraction(BigInt(value));
  }

  // The number that stands here as a word; 0 where none does.
  numberWord() {
    const { kind, key } = this.peek();
    const isOther = kind !== "word" || ARTICLES.includes(key) || key === "couple";
    return !isOther && Object.hasOwn(this.grammar.numbers, key) ? this.grammar.numbers[key] : 0;
  }

  // The hundred and fifty of two hundred and fifty.
  inHundreds(number, isHundred) {
    if (!isHundred && (this.words.isOwn("hundred") || !this.take("word", ["hundred"]))) {
      return number;
    }
    const whole = isHundred ? number : times(number, fraction(100n));
    const start = this.place;
    this.take("word", ["and"]);
    const rest = this.numberWord();
    if (rest >= 1 && rest < 100) {
      this.place += 1;
      const more = plus(fraction(BigInt(rest)), rest >= 20 ? this.ones() : ZERO);
      if (!Object.hasOwn(this.grammar.shares, this.peek().key)) {
        return plus(whole, more);
      }
    }
    this.place = start;
    return whole;
  }

  // `half` or `quarter`, unless that is, or begins, a word of the item's.
  share() {
    const [token, after] = [this.peek(), this.peek(1)];
    if (token.kind !== "word" || !Object.hasOwn(this.grammar.shares, token.key)) {
      return null;
    }
    const length = this.unitLength();
    if (length) {
      this.place += 1;
      const isOfUnit = this.grammar.before_unit.includes(after.key) || this.unitLength() > 0;
      this.place -= 1;
      if (length > 1 || !isOfUnit) {
        return null;
      }
    }
    this.place += 1;
    return fromText(this.grammar.shares[token.key]);
  }

  // The share in `three quarters`; `2 half` is 2 1/2, or twice a half.
  sharesOf(number) {
    const isOneShare = !this.peek().key.endsWith("s");
    const share = this.share();
    if (!share) {
      return null;
    }
    const product = times(number, share);
    return isOneShare && compare(product, ONE) >= 0 ? [plus(number, share), product] : [product];
  }

  // `and a half`, `and 2/3` or `and three quarters`; nothing where none follows.
  andAShare() {
    const start = this.place;
    if (this.take("word", ["and"])) {
      const { kind, key, figure } = this.peek();
      if (kind === "number" && figure.isFraction) {
        this.place += 1;
        return figure.values[0];
      }
      const isNumber = kind === "word" && Object.hasOwn(this.grammar.numbers, key);
      this.place += isNumber ? 1 : 0;
      const number = isNumber ? BigInt(this.grammar.numbers[key]) : 1n;
      const share = times(this.share() ?? ZERO, fraction(number));
      if (share.top > 0n && compare(share, ONE) < 0) {
        return share;
      }
    }
    this.place = start;
    return ZERO;
  }
}
