// Decimals are compared to the last digit. Expected values by hand.
import assert from "node:assert/strict";
import { test } from "node:test";
import { compare, equal, rising, within } from "../rules/decimal.js";

test("digits decide, not the way they are written", () => {
  assert.ok(equal("8", "8.00"));
  assert.ok(equal("0.8e1", 8));
  assert.equal(compare("-0.1", "0"), -1);
  assert.equal(compare("60.1", "60"), 1);
  // As binary fractions these two are the same number.
  assert.equal(compare("0.1000000000000000001", "0.1"), 1);
});

test("a value equal to a limit is inside, an absent limit is open", () => {
  assert.ok(within("60", 30, 60));
  assert.ok(!within("60.0000000001", 30, 60));
  assert.ok(within("-400", null, 60));
});

test("what is no number is refused", () => {
  for (const text of ["", ".", "1,5", "0x10", "NaN", "1e999"]) assert.throws(() => compare(text, "1"), /decimal|places/);
});

test("equal voltages are listed once, rising", () => {
  assert.deepEqual(rising(["15", "4", "8", "4.0"]), ["4", "8", "15"]);
});
