// What a typed word means for an item: a unit, a word of its own, or a question. By the
// server's own rules: several meanings are all returned, the likelier first.

import { keyOf } from "./tokens.js";

const NOTHING = { words: [], isDoubtful: false };

function isSkeleton(key, word, { vowels, longest_abbreviation: longest }) {
  if (key.length < 2 || key.length > longest || key[0] !== word[0]) {
    return false;
  }
  let at = 0;
  return [...key.slice(1)].every((letter) => {
    at = word.indexOf(letter, at + 1);
    return /\p{L}/u.test(letter) && !vowels.includes(letter) && at > 0;
  });
}

// A word's first letter and some of its consonants: bx, cs, ctn, bgs.
function isAbbreviation(key, word, grammar) {
  return isSkeleton(key, word, grammar) || (key.endsWith("s") && isSkeleton(key.slice(0, -1), word, grammar));
}

function ownBegunBy(key, words) {
  return words.line.words
    .filter((own) => own.forms.some((form) => form.startsWith(key)) || isAbbreviation(key, keyOf(own.word), words.grammar))
    .map((own) => own.word);
}

function unitsBegunBy(key, words) {
  const { unit_by_beginning: forms, measures } = words.grammar;
  const begun = Object.keys(forms).filter((form) => form.startsWith(key)).map((form) => forms[form]);
  const rank = (word) => [measures[word] === words.line.measure ? 0 : 1, word.length];
  return [...new Set(begun)].filter((word) => words.takes(word)).sort((one, other) => {
    const [a, b] = [rank(one), rank(other)];
    return a[0] - b[0] || a[1] - b[1] || (one < other ? -1 : 1);
  });
}

function ofUnits(typed, key, words) {
  const { grammar, line } = words;
  const letters = typed.replaceAll(".", "").trim();
  const takeable = (units) => units.filter((unit) => words.takes(unit));
  if (Object.hasOwn(grammar.units_by_doubtful, letters)) {
    return { words: takeable(grammar.units_by_doubtful[letters]), isDoubtful: true };
  }
  const unit = Object.hasOwn(grammar.unit_by_form, key) ? grammar.unit_by_form[key] : undefined;
  if (unit === undefined) {
    return NOTHING;
  }
  const isByVolume = line.measure === "volume";
  if (unit === "oz" && isByVolume && key !== grammar.oz_by_weight) {
    return { words: takeable(["fl oz", "oz"]), isDoubtful: true };
  }
  if (letters === "G") {
    const found = takeable(isByVolume ? ["gallon", "g"] : ["g", "gallon"]);
    return found.length ? { words: found, isDoubtful: found.join() !== "g" } : NOTHING;
  }
  const grams = key === "gr" ? takeable(["g", "gross"]) : [];
  return { words: grams.length ? grams : [unit], isDoubtful: false };
}

// Adds the words that the letters are short for; those of the item's own go first.
function withOwn(found, key, words) {
  const takes = found.words.some((word) => words.takes(word));
  if (found.words.length && takes && !found.isDoubtful && !words.grammar.short_forms.includes(key)) {
    return found;
  }
  let own = ownBegunBy(key, words);
  let rest = found;
  if (own.length && !takes) {
    rest = NOTHING;
  } else if (!own.length && !found.words.length && !found.isDoubtful) {
    own = unitsBegunBy(key, words);
  }
  const seen = new Set();
  const isEach = own.some((word) => words.isOwn(word) && mayBeEach(words.ownByForm.get(keyOf(word)), words));
  const each = [...own, ...rest.words, ...(isEach ? ["each"] : [])].filter((word) => {
    const base = words.amountOf(word);
    const isNew = base === undefined || !seen.has(base);
    seen.add(base);
    return isNew;
  });
  return { words: each, isDoubtful: rest.isDoubtful };
}

// Whether a word is also what the item itself is called: a box of boxes.
function mayBeEach(own, words) {
  return words.nouns.has(keyOf(own.word)) && words.takes("each") && words.amountOf("each") !== own.base;
}

// A unit by a name that is short for nothing else of the item's: liter, not L.
export function unmistaken(word, words) {
  const own = words.ownByForm.get(keyOf(word));
  if (own) {
    return mayBeEach(own, words) ? `${own.word} pack` : own.word;
  }
  const { oz_by_weight: ounce, short_forms: short, long_names: names } = words.grammar;
  if (word === "oz" && words.line.measure === "volume") {
    return ounce;
  }
  const key = keyOf(word);
  return short.includes(key) && ownBegunBy(key, words).length ? names[word] ?? word : word;
}

function allMeanings(typed, key, words) {
  const own = words.ownByForm.get(key);
  const isNoun = words.nouns.has(key) && words.takes("each");
  if (own) {
    const isBoth = words.nouns.has(key) && mayBeEach(own, words);
    return { words: isBoth ? [own.word, "each"] : [own.word], isDoubtful: false };
  }
  let found = ofUnits(typed, key, words);
  if (!found.words.length && isNoun) {
    found = { words: ["each"], isDoubtful: false };
  }
  return words.grammar.grammar_words.includes(key) ? found : withOwn(found, key, words);
}

// A counting unit that is among several meanings is the one that is meant.
export function meanings(typed, words, countingUnit = null) {
  const found = allMeanings(typed, keyOf(typed), words);
  const each = found.words.map((word) => unmistaken(word, words));
  if (each.length > 1 && countingUnit && [...found.words, ...each].includes(countingUnit)) {
    return { words: [unmistaken(countingUnit, words)], isDoubtful: false };
  }
  return { words: each, isDoubtful: found.isDoubtful };
}
