// Bags made by a script outside this project's code; expected.json states the outcome after RFC 8493.
import assert from "node:assert/strict";
import { openAsBlob, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { test } from "node:test";
import { examine } from "../pack/pack.js";
import { Refusal } from "../pack/refusal.js";

const fixtures = fileURLToPath(new URL("../../fixtures/", import.meta.url));
const { cases } = JSON.parse(readFileSync(`${fixtures}bagit/expected.json`, "utf8"));

async function outcomeOf(path) {
  try {
    const pack = await examine(await openAsBlob(path));
    return pack.intact ? "valid" : "invalid";
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    return "invalid";
  }
}

for (const [name, { expect, reason }] of Object.entries(cases)) {
  test(`${name}: ${expect}, ${reason}`, async () => {
    const found = await outcomeOf(`${fixtures}bagit/${name}`);
    if (expect !== "impl-defined") assert.equal(found, expect === "valid" ? "valid" : "invalid");
  });
}

test("the first pack of layout version 1 is in order for ever", async () => {
  assert.equal(await outcomeOf(`${fixtures}golden-1.zip`), "valid");
});

test("every single byte of the first pack matters", async () => {
  const sound = readFileSync(`${fixtures}golden-1.zip`);
  const silent = [];
  // Each byte in turn would take minutes here; this step is coprime to the usual lengths of records in a zip.
  for (let at = 0; at < sound.length; at += 37) {
    const changed = Buffer.from(sound);
    changed[at] ^= 1 << at % 8;
    try {
      const { intact, seal } = await examine(new Blob([changed]));
      if (intact && seal.state === "ok") silent.push(at);
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
    }
  }
  assert.deepEqual(silent, []);
});
