// The sentence under a sheet: how many wait, and why.

import assert from "node:assert/strict";
import { test } from "node:test";

import { leftWords, waitingWords } from "../../stock/static/stock/count/standing.js";

test("what waits is counted, with what is in the way", () => {
  assert.equal(waitingWords({ waiting: 0, trouble: "offline" }), "Everything is sent.");
  assert.equal(waitingWords({ waiting: 0, trouble: "", typed: 1 }), "Everything entered is sent.");
  assert.match(waitingWords({ waiting: 1, trouble: "offline" }), /^1 entry waits on this phone\. No network/);
  assert.match(waitingWords({ waiting: 2, trouble: "refused" }), /^2 entries wait on this phone\. The kitchen/);
});

test("a place that is done says so", () => {
  assert.equal(leftWords(3, 60), "3 of 60 left");
  assert.equal(leftWords(0, 60), "All 60 counted");
});
