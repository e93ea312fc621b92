// Hostile zips, made by scripts outside this project's code; expected.json says what becomes of each.
import assert from "node:assert/strict";
import { openAsBlob, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { test } from "node:test";
import { filesOf } from "../pack/bag.js";
import { Refusal } from "../pack/refusal.js";
import { readDirectory } from "../pack/zip_directory.js";
import { unpack } from "../pack/zip_member.js";

const folder = fileURLToPath(new URL("../../fixtures/zips/", import.meta.url));
const { cases } = JSON.parse(readFileSync(`${folder}expected.json`, "utf8"));

/** Reads a whole zip; "accept", or "refuse" where it was refused with a reason. */
async function outcomeOf(name) {
  try {
    const blob = await openAsBlob(folder + name);
    const { entries } = await readDirectory(blob);
    for (const entry of filesOf(entries).values()) await unpack(blob, entry);
    return "accept";
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    assert.notEqual(error.message, "");
    return "refuse";
  }
}

for (const [name, { outcome, why }] of Object.entries(cases)) {
  test(`${name}: ${outcome}, ${why}`, async () => {
    const found = await outcomeOf(name);
    if (outcome !== "either") assert.equal(found, outcome);
  });
}
