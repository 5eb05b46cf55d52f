// The words of one item: its own, its units, its name, its tares.

import { unmistaken } from "./meanings.js";
import { VULGAR, Unreadable, keyOf } from "./tokens.js";
import { compare, fromText, inDecimals, inWords } from "./fractions.js";

const ONE = fromText("1");
const VULGAR_OF = Object.fromEntries(Object.entries(VULGAR).map(([sign, text]) => [text, sign]));

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
    this.names = new Set(line.name_forms);
    this.nouns = new Set(line.noun_forms);
    this.isKnown = (key) => this.isExact(key) || this.tareByKey.has(key);
  }

  isExact(key) {
    return this.ownByForm.has(key) || Object.hasOwn(this.grammar.unit_by_form, key);
  }

  isOwn(word) {
    return this.ownByForm.has(keyOf(word));
  }

  // What 1 of a unit or an own word comes to, as text; undefined where nothing says.
  amountOf(word) {
    const key = keyOf(word);
    const own = this.ownByForm.get(key);
    return own ? own.base : this.baseByUnit[this.grammar.unit_by_form[key]];
  }

  takes(word) {
    return this.amountOf(word) !== undefined;
  }

  base(word) {
    const base = this.amountOf(word);
    if (base === undefined) {
      throw new Unreadable(`“${word}” isn't a unit of ${this.line.item}. ${this.advice()}`);
    }
    return fromText(base);
  }

  plural(word) {
    const own = this.ownByForm.get(keyOf(word));
    if (own && own.word !== word) {
      return `${word}s`; // a box pack, of what is packed in boxes
    }
    return own?.plural ?? this.grammar.plurals[word] ?? word;
  }

  // How the number and the word stand together: 1 case, 2 cases, 1/2 bag. Beside a unit
  // in which packs are sized, 3/4 could be three of four: then ¾.
  said(number, word) {
    const isMany = compare(number, ONE) > 0;
    const said = isMany ? this.plural(word) : word;
    const isPart = compare(number, ONE) < 0 && number.top > 1n;
    if (!isPart || !this.grammar.pack_size_units.includes(word)) {
      return `${inWords(number)} ${said}`;
    }
    const written = VULGAR_OF[`${number.top}/${number.bottom}`] ?? inDecimals(number);
    return written ? `${written} ${said}` : `${inWords(number)} of a ${said}`;
  }

  // With the item's own word for one of it: 39 lemons, where units would say 39 each.
  named(text) {
    const { noun } = this.line;
    const said = (_whole, number, of = "") => {
      const isOneAtMost = /^(1|0?\.\d+|\d+\/\d+|\p{No})$/u.test(number);
      return `${number}${of && /^[aeiou]/.test(noun[0]) ? `${of}n` : of} ${isOneAtMost ? noun[0] : noun[1]}`;
    };
    return noun ? text.replace(/([\d\p{No}][\d ./\p{No}]*)( of a)? each\b/gu, said) : text;
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

  // A few units that this item can take, smallest first.
  get units() {
    const units = this.line.bare_units.map((unit) => unmistaken(unit, this));
    return units.length > 3 ? [units[0], units[units.length >> 1], units.at(-1)] : units;
  }

  // An amount that this item can take: 2 cases.
  example() {
    return this.named(this.said(fromText("2"), this.units.at(-1) ?? this.line.base_unit));
  }

  advice() {
    const first = this.units.slice(0, -1).join(", ");
    return `Write ${first ? `${first} or ` : ""}${this.units.at(-1)}.`;
  }
}
