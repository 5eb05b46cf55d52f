// What is in hand is written at once, and struck out only if it is still the same.

import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";

import { strike, write, written } from "../../stock/static/stock/count/journal.js";

class Storage {
  constructor(most = Infinity) {
    Object.defineProperty(this, "most", { value: most });
  }

  setItem(key, text) {
    if (Object.keys(this).length >= this.most) {
      throw new Error("QuotaExceededError");
    }
    this[key] = text;
  }

  getItem(key) {
    return this[key] ?? null;
  }

  removeItem(key) {
    delete this[key];
  }
}

beforeEach(() => {
  globalThis.localStorage = new Storage();
});

test("what is written is there, apart by kind and by person", () => {
  assert.ok(write("typed", "1", "butter", { text: "2 c" }));
  write("typed", "12", "butter", { text: "3 c" });
  write("entry", "1", "k1", { text: "4 c" });

  assert.deepEqual(written("typed", "1"), [{ text: "2 c" }]);
  assert.deepEqual(written("entry", "1"), [{ text: "4 c" }]);
  assert.deepEqual(
    written("typed").map(({ text }) => text),
    ["2 c", "3 c"],
  );
});

test("something newer is not struck out by what is older", () => {
  write("typed", "1", "butter", { text: "2 c" });
  write("typed", "1", "butter", { text: "2 cases" });

  strike("typed", "1", "butter", { text: "2 c" });
  assert.deepEqual(written("typed", "1"), [{ text: "2 cases" }]);
  strike("typed", "1", "butter", { text: "2 cases" });
  assert.deepEqual(written("typed", "1"), []);
});

test("a full storage is said, and is no error", () => {
  globalThis.localStorage = new Storage(1);
  assert.equal(write("typed", "1", "butter", { text: "2 c" }), true);
  assert.equal(write("typed", "1", "eggs", { text: "3" }), false);
});
