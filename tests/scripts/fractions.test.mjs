// Exact fractions: reduced, rounded once, said as people write them.

import assert from "node:assert/strict";
import { test } from "node:test";

import {
  compare,
  fraction,
  fromText,
  inDecimals,
  inWords,
  minus,
  over,
  plus,
  rounded,
  times,
} from "../../stock/static/stock/count/fractions.js";

const third = fraction(1n, 3n);

test("a fraction is in its lowest terms", () => {
  assert.deepEqual(fraction(6n, 8n), { top: 3n, bottom: 4n });
  assert.deepEqual(fraction(-6n, 8n), { top: -3n, bottom: 4n });
  assert.deepEqual(fraction(0n, 5n), { top: 0n, bottom: 1n });
});

test("what the server writes is read whole", () => {
  for (const [text, top, bottom] of [
    ["3", 3n, 1n],
    ["7/4", 7n, 4n],
    ["0.25", 1n, 4n],
    ["2.5/4", 5n, 8n],
  ]) {
    assert.deepEqual(fromText(text), { top, bottom }, text);
  }
});

test("three thirds are one, where floats would have to be lucky", () => {
  assert.deepEqual(plus(plus(third, third), third), fraction(1n));
  assert.deepEqual(minus(third, third), fraction(0n));
  assert.deepEqual(times(third, fraction(3n)), over(fraction(1n), fraction(1n)));
  assert.equal(compare(third, fraction(33n, 100n)), 1);
  assert.equal(compare(fraction(33n, 100n), third), -1);
  assert.equal(compare(third, fraction(2n, 6n)), 0);
});

test("halves are rounded away from zero, and nothing is minus nothing", () => {
  for (const [top, bottom, places, said] of [
    [1n, 3n, 4, "0.3333"],
    [1n, 8n, 2, "0.13"],
    [-1n, 8n, 2, "-0.13"],
    [-1n, 100_000n, 4, "0.0000"],
    [5n, 2n, 0, "3"],
  ]) {
    assert.equal(rounded(fraction(top, bottom), places), said);
  }
});

test("decimals are given only where they end", () => {
  assert.equal(inDecimals(third), null);
  assert.equal(inDecimals(fraction(893n, 1000n)), "0.893");
});

test("people read 1 3/4, 1/3 and 0.893", () => {
  assert.equal(inWords(fraction(7n, 4n)), "1 3/4");
  assert.equal(inWords(third), "1/3");
  assert.equal(inWords(fraction(893n, 1000n)), "0.893");
  assert.equal(inWords(fraction(12n)), "12");
});
