// Signatures against the keys that a record names: the order of its people makes no difference.
import assert from "node:assert/strict";
import { test } from "node:test";
import { asNamed } from "../pack/pack.js";

const heron = { name: "O. Heron", part: "authorised", key: "SHA256:heron" };
const signed = (fingerprint) => [{ state: "ok", as: "authorised", fingerprint, text: "good" }];
const state = (people, fingerprint) => asNamed(signed(fingerprint), { facts: { people } })[0].state;

test("a key is the named one, another one, or left open, in whatever order the people stand", () => {
  assert.equal(state([heron], "SHA256:other"), "failed");
  for (const open of [{ name: "T. Sedge", part: "authorised" }, { name: "T. Sedge", part: "authorised", key: null }]) {
    for (const people of [[heron, open], [open, heron]]) {
      const [found] = asNamed(signed("SHA256:heron"), { facts: { people } });
      assert.deepEqual([found.state, found.text], ["ok", "good, which the record names for O. Heron"]);
      assert.equal(state(people, "SHA256:other"), "ok");
    }
  }
});
