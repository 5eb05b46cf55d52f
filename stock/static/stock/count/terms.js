// Reads one part of a saying: `2 cases`, `half a bag`, `3 lb of butter`, `a case and a
// half`. Each comes in every way it can be read, the likelier first.

import { UnitReader } from "./unit_reader.js";
import { fraction, plus } from "./fractions.js";

const ONE = fraction(1n);

export class TermReader extends UnitReader {
  // { terms, labels, isDoubtful: even one way has to be asked about }
  part(before, isJoined) {
    let amount = this.oneOfUnit() ?? this.amount();
    this.takeSlashOfSize();
    if (!this.unitLength()) {
      this.take("word", this.grammar.filling);
    }
    const start = this.place;
    const found = this.unit(amount, before, isJoined);
    const [isBare, { ratio }] = [this.place === start, amount];
    if (isBare && found.isDoubtful) {
      amount = { ...amount, ratio: null }; // one question at a time
    }
    this.takeTrailing();
    const share = this.shareAfterUnit();
    if (share.top) {
      amount = { values: amount.values.map((value) => plus(value, share)), text: amount.text };
      this.takeTrailing();
    }
    const part = this.inEveryWay(amount, found);
    return isBare && ratio ? this.orPacks(part, ratio, found) : part;
  }

  // The one that is not said: a full bag, or case and a half.
  oneOfUnit() {
    const [token, start] = [this.peek(), this.place];
    const one = { values: [ONE], text: "1" };
    if (token.kind !== "word" || this.isAmount(token)) {
      return null;
    }
    if (this.take("word", this.grammar.filling)) {
      if (this.unitLength()) {
        return one;
      }
    } else {
      this.place += this.unitLength();
      const hasShare = this.place > start && this.shareAfterUnit().top > 0n;
      this.place = start;
      return hasShare ? one : null;
    }
    this.place = start;
    return null;
  }

  // `and a half` where nothing follows that it could be half of.
  shareAfterUnit() {
    const start = this.place;
    const share = this.andAShare();
    const [token, after] = [this.peek(), this.peek(1)];
    const { unit_by_mark: units, joining_words: joining, less, trailing } = this.grammar;
    const ends = token.kind === "end" || (token.kind === "mark" && token.text !== '"' && !Object.hasOwn(units, token.text));
    const closing = [...joining, ...less, ...trailing.filter((word) => word !== "of"), "tare"].includes(token.key);
    const isOfItem = token.key === "of" && this.words.names.has(after.key);
    const names = token.kind === "word" && this.words.names.has(token.key);
    if (share.top && (ends || closing || isOfItem || names)) {
      return share;
    }
    this.place = start;
    return { top: 0n, bottom: 1n };
  }

  inEveryWay(amount, found) {
    const [terms, labels] = [[], []];
    for (const word of found.words) {
      for (const { value, label } of this.values(amount, word)) {
        terms.push({ number: value, word });
        labels.push(label ?? this.words.said(value, word));
      }
    }
    const isWhole = amount.values[0].bottom === 1n;
    return { terms, labels, isDoubtful: Boolean(amount.isDoubtful || found.isDoubtful), isWhole };
  }

  // A bare 6/5 is 1.2 tubs, or six of a size: 6 x 5 lb. Where a size is what is counted,
  // it is asked about as any 6/5 lb.
  orPacks(part, [top, bottom], found) {
    const isCountedSize = !found.isDoubtful && this.isSizeUnit(found.words[0]);
    if (top <= 1n || isCountedSize) {
      return part;
    }
    const units = this.anyOf(this.words.line.bare_units.filter((unit) => this.isSizeUnit(unit))).words;
    const terms = units.map((word) => ({ number: fraction(top * bottom), word }));
    const labels = units.map((word) => `${top} x ${bottom} ${word}`);
    return this.isKitchens(top, bottom)
      ? { ...part, terms: [...part.terms, ...terms], labels: [...part.labels, ...labels] }
      : { ...part, terms: [...terms, ...part.terms], labels: [...labels, ...part.labels] };
  }

  isSizeUnit(word) {
    return this.grammar.pack_size_units.includes(word) && !this.words.isOwn(word);
  }

  // A fraction that spoons, cups and scales are marked with.
  isKitchens(top, bottom) {
    return top < bottom && this.grammar.kitchen_denominators.includes(Number(bottom));
  }

  // 12/32 oz is a fraction, or twelve of 32 oz.
  values(amount, word) {
    const plain = amount.values.map((value) => ({ value }));
    if (!amount.ratio || amount.ratio[0] === 1n || !this.isSizeUnit(word)) {
      return plain;
    }
    const [top, bottom] = amount.ratio;
    const pack = { value: fraction(top * bottom), label: `${top} x ${bottom} ${word}` };
    return this.isKitchens(top, bottom) ? [...plain, pack] : [pack, ...plain];
  }

  // What is said after a unit for good measure: of butter, full, left.
  takeTrailing() {
    const { grammar_words: own, trailing } = this.grammar;
    while (this.peek().kind === "word" && !this.unitLength()) {
      const [{ key }, after] = [this.peek(), this.peek(1)];
      const isName = this.words.names.has(key) && !own.includes(key);
      const leadsToName = key === "of" && this.words.names.has(after.key);
      if (!isName && !leadsToName && (key === "of" || !trailing.includes(key))) {
        return;
      }
      this.place += 1;
    }
  }
}
