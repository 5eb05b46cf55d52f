// The words of one item: its own, its units, its tares, whole or by first letters.

import { compare, fromText } from "./fractions.js";
import { Unreadable, keyOf } from "./tokens.js";

export class Words {
  constructor(line, grammar) {
    this.line = line;
    this.grammar = grammar;
    this.baseByUnit = line.units;
    this.ownByForm = new Map(
      line.words.flatMap((own) => own.forms.map((form) => [form, own])),
    );
    this.tareByKey = new Map(
      Object.entries(line.tares ?? {}).map(([name, terms]) => [keyOf(name), terms]),
    );
    this.isKnown = (key) => this.known(key) !== undefined || this.tareByKey.has(key);
  }

  known(key) {
    return this.ownByForm.get(key)?.word ?? this.grammar.unit_by_form[key];
  }

  // The word itself, or the only one that begins so; the item's own go before units.
  whole(typed) {
    const key = keyOf(typed);
    const known = this.known(key);
    if (known !== undefined) {
      return known;
    }
    const own = this.ownBegunBy(key);
    const meant = own.size ? own : this.unitsBegunBy(key);
    if (new Set(meant.values()).size > 1) {
      const words = [...meant.keys()].sort().join(" or ");
      throw new Unreadable(`“${typed}” could be ${words}. Write more of the word.`);
    }
    if (!meant.size) {
      throw new Unreadable(`“${typed}” is no word of ${this.line.item}. ${this.advice()}`);
    }
    return meant.keys().next().value;
  }

  ownBegunBy(key) {
    const begun = [...this.ownByForm].filter(([form]) => form.startsWith(key));
    return new Map(begun.map(([, own]) => [own.word, own.base]));
  }

  unitsBegunBy(key) {
    const begun = Object.entries(this.grammar.unit_by_form)
      .filter(([form, unit]) => form.startsWith(key) && unit in this.baseByUnit);
    return new Map(begun.map(([, unit]) => [unit, this.baseByUnit[unit]]));
  }

  base(word) {
    const base = this.ownByForm.get(keyOf(word))?.base ?? this.baseByUnit[word];
    if (base === undefined) {
      throw new Unreadable(`Nothing says what 1 ${word} of ${this.line.item} is. ${this.advice()}`);
    }
    return fromText(base);
  }

  plural(word) {
    return this.ownByForm.get(keyOf(word))?.plural ?? this.grammar.plurals[word] ?? word;
  }

  // How the number and the word stand together: 1 case, 2 cases, 1/2 bag.
  said(number, word, written) {
    const isMany = compare(number, { top: 1n, bottom: 1n }) > 0;
    return `${written} ${isMany ? this.plural(word) : word}`;
  }

  tare(typed) {
    const key = keyOf(typed);
    const exact = this.tareByKey.get(key) ?? (key.endsWith("s") && this.tareByKey.get(key.slice(0, -1)));
    if (exact) {
      return exact;
    }
    const named = [...this.tareByKey.keys()].filter((name) => name.startsWith(key));
    if (named.length > 1) {
      throw new Unreadable(`“${typed}” could be ${named.sort().join(" or ")}. Write more of it.`);
    }
    return named.length ? this.tareByKey.get(named[0]) : undefined;
  }

  advice() {
    return `Write ${[...this.line.words.map((own) => own.word), this.line.base_unit].slice(0, 3).join(", ")} or another unit.`;
  }
}
