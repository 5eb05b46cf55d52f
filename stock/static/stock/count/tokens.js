// What was typed, cut into numbers, words and marks, as the kitchen's own grammar does.

import { compare, fraction, fromText, plus } from "./fractions.js";

export const VULGAR = {
  "¼": "1/4", "½": "1/2", "¾": "3/4", "⅐": "1/7", "⅑": "1/9", "⅒": "1/10", "⅓": "1/3",
  "⅔": "2/3", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6",
  "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
};
const VULGARS = Object.keys(VULGAR).join("");
const NUMBER =
  "(?<point>[0-9]*\\.[0-9]+)" +
  "|(?:(?<mixed>[0-9]+)\\s+)?(?<top>[0-9]+)\\s*(?<slash>[/\u2044\u2215])\\s*(?<bottom>[0-9]+)" +
  `|(?<before>[0-9]+)?\\s*(?<vulgar>[${VULGARS}])` +
  "|(?<whole>[0-9]+)";
const WORD = "\\p{L}+(?:['\u2019.&-]\\p{L}+)*\\.?";
const TOKEN = new RegExp(`\\s*(?:(?<number>${NUMBER})|(?<word>${WORD})|(?<mark>\\S))`, "gu");
export const LARGEST_NUMBER = fraction(10n ** 9n);
// Spaces to some languages and not to others.
const ODD_SPACES = /[\x1c-\x1f\x85\ufeff]/g;
const CURLY_INCH = /[\u201c\u201d\u201e\u2033]/g;
const FULL_WIDTH = /[\uff01-\uff5e]/g;

// A word as it is compared: without case, dots and extra spaces.
export function keyOf(word) {
  return word.replaceAll(".", " ").toLowerCase().split(/\s+/).filter(Boolean).join(" ");
}

// What can be read in several ways has them all in `readings`, the most likely first.
export class Unreadable extends Error {
  name = "Unreadable";

  constructor(message, readings = []) {
    super(message);
    this.readings = readings;
  }
}

export function severalReadings(text, readings, words) {
  const shown = readings.map((reading) => words.named(reading));
  const sentence = readings.length === 1
    ? `“${text}” is not clear. Did you mean ${shown[0]}?`
    : `“${text}” could be ${shown.slice(0, -1).join(", ")} or ${shown.at(-1)}. Write one of them.`;
  return new Unreadable(sentence, readings);
}

// Full-width signs and curly inch marks as a keyboard has them, accents composed.
export function tidy(text) {
  const plain = (sign) => String.fromCharCode(sign.charCodeAt(0) - 0xfee0);
  return text.normalize("NFC").replace(FULL_WIDTH, plain).replace(CURLY_INCH, '"').replace(ODD_SPACES, " ").trim();
}

// 1¾ for the 13 over 4 that some programs make of it.
function runTogether(top, bottom) {
  const [whole, last] = [top.slice(0, -1), BigInt(top.at(-1))];
  const isOne = whole && BigInt(top) > bottom && last > 0n && last < bottom;
  return isOne ? [plus(fromText(whole), fraction(last, bottom))] : [];
}

function figureOf({ point, mixed, top, slash, bottom, before, vulgar, whole }) {
  if (whole) {
    return { values: [fromText(whole)], isWhole: true };
  }
  if (point || vulgar) {
    return { values: [point ? fromText(`0${point}`) : plus(fromText(before ?? "0"), fromText(VULGAR[vulgar]))] };
  }
  const [above, below] = [BigInt(top), BigInt(bottom)];
  if (below === 0n) {
    throw new Unreadable(`${top}/0 has a zero below the line. Write one such as 1/2.`);
  }
  if (mixed && above >= below) {
    throw new Unreadable(`${top}/${bottom} isn't part of one. Write one number.`);
  }
  const value = plus(fromText(mixed ?? "0"), fraction(above, below));
  const mixedOne = mixed || slash === "/" ? [] : runTogether(top, below);
  const isPlain = mixed || mixedOne.length;
  return { values: [...mixedOne, value], ratio: isPlain ? null : [above, below] };
}

function checked(figure) {
  if (figure.values.some((value) => compare(value, LARGEST_NUMBER) > 0)) {
    throw new Unreadable("That is more than a bakery can hold.");
  }
  const [value] = figure.values;
  const isFraction = !figure.isWhole && figure.values.length === 1 && value.top > 0n && value.top < value.bottom;
  return { ratio: null, isWhole: false, ...figure, isFraction };
}

// `lb-bin` and `bag&tub` are split where they are no words of the item's; the dash of
// `three-quarters` says nothing.
function* wordsOf(text, start, splits, counts) {
  const pieces = [...text.matchAll(splits)];
  const first = keyOf(pieces[0][0]);
  for (const { 0: piece, index } of pieces) {
    const isMark = piece.length === 1 && !/\p{L}/u.test(piece);
    if (!isMark || piece === "&" || !counts(first)) {
      yield { kind: isMark ? "mark" : "word", text: piece, key: keyOf(piece), start: start + index };
    }
  }
}

export function tokensOf(text, isKnown, grammar) {
  const marks = `${grammar.minus_marks.map((mark) => `\\u${mark.codePointAt(0).toString(16).padStart(4, "0")}`).join("")}&`;
  const splits = new RegExp(`[${marks}]|[^${marks}]+`, "gu");
  const counts = (key) => (Object.hasOwn(grammar.numbers, key) || Object.hasOwn(grammar.shares, key)) && !["a", "an"].includes(key);
  const tokens = [];
  for (const { 0: all, index, groups } of text.matchAll(TOKEN)) {
    const said = groups.number ?? groups.word ?? groups.mark;
    const token = { text: said, key: keyOf(said), start: index + all.length - said.length };
    if (groups.number !== undefined) {
      tokens.push({ ...token, kind: "number", figure: checked(figureOf(groups)) });
    } else if (groups.mark !== undefined) {
      tokens.push({ ...token, kind: "mark" });
    } else if (isKnown(token.key)) {
      tokens.push({ ...token, kind: "word" });
    } else {
      tokens.push(...wordsOf(said, token.start, splits, counts));
    }
  }
  return tokens.map((token) => ({ ...token, end: token.start + token.text.length }));
}
