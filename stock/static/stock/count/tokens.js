// What was typed, cut into numbers, words and marks, as the kitchen's own grammar does.

import { compare, fraction, fromText, plus } from "./fractions.js";

const VULGAR = {
  "¼": "1/4", "½": "1/2", "¾": "3/4", "⅐": "1/7", "⅑": "1/9", "⅒": "1/10", "⅓": "1/3",
  "⅔": "2/3", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6",
  "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
};
const VULGARS = Object.keys(VULGAR).join("");
const NUMBER =
  "(?<point>[0-9]*\\.[0-9]+)" +
  "|(?:(?<mixed>[0-9]+)\\s+)?(?<top>[0-9]+)\\s*[/\u2044\u2215]\\s*(?<bottom>[0-9]+)" +
  `|(?<before>[0-9]+)?\\s*(?<vulgar>[${VULGARS}])` +
  "|(?<whole>[0-9]+)";
const WORD = "\\p{L}+(?:['\u2019.&-]\\p{L}+)*\\.?";
const TOKEN = new RegExp(`\\s*(?:(?<number>${NUMBER})|(?<word>${WORD})|(?<mark>\\S))`, "gu");
const LARGEST_NUMBER = fraction(10n ** 9n);

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

export function severalReadings(text, readings) {
  return new Unreadable(`“${text}” could be ${readings.join(" or ")}. Write one of them.`, readings);
}

function numberOf(groups) {
  const { point, mixed, top, bottom, before, vulgar, whole } = groups;
  let number;
  if (whole) {
    number = fromText(whole);
  } else if (point) {
    number = fromText(`0${point}`);
  } else if (vulgar) {
    number = plus(fromText(before ?? "0"), fromText(VULGAR[vulgar]));
  } else if (BigInt(bottom) === 0n) {
    throw new Unreadable(`${top}/0 has a zero below the line. Write one such as 1/2.`);
  } else if (mixed && BigInt(top) >= BigInt(bottom)) {
    throw new Unreadable(`${top}/${bottom} is no part of one. Write one number.`);
  } else {
    number = plus(fromText(mixed ?? "0"), fraction(BigInt(top), BigInt(bottom)));
  }
  if (compare(number, LARGEST_NUMBER) > 0) {
    throw new Unreadable("That is more than a bakery can hold.");
  }
  return number;
}

// `lb-bin` and `bag&tub` are split where they are no words of the item's.
function* wordsOf(text, splits) {
  for (const [part] of text.matchAll(splits)) {
    const isMark = part.length === 1 && !/\p{L}/u.test(part);
    yield { kind: isMark ? "mark" : "word", text: part, key: keyOf(part) };
  }
}

export function tokensOf(text, isKnown, minusMarks) {
  const marks = `${minusMarks.map((mark) => `\\u${mark.codePointAt(0).toString(16).padStart(4, "0")}`).join("")}&`;
  const splits = new RegExp(`[${marks}]|[^${marks}]+`, "gu");
  const tokens = [];
  for (const { 0: whole, groups } of text.matchAll(TOKEN)) {
    if (groups.number !== undefined) {
      const isGlued = whole === groups.number;
      tokens.push({ kind: "number", text: groups.number, key: "", isGlued, number: () => numberOf(groups) });
    } else if (groups.mark !== undefined) {
      tokens.push({ kind: "mark", text: groups.mark, key: keyOf(groups.mark) });
    } else if (isKnown(keyOf(groups.word))) {
      tokens.push({ kind: "word", text: groups.word, key: keyOf(groups.word) });
    } else {
      tokens.push(...wordsOf(groups.word, splits));
    }
  }
  return tokens;
}
