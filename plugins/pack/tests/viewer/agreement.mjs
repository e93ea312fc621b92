// Derives each record of a file again and says where the result differs from the assessment beside it.
// usage: node agreement.mjs RECORDS.jsonl COUNT (standard-N.toml lie beside it)
import { createReadStream, readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { createInterface } from "node:readline";
import { assess } from "../../viewer/rules/assess.js";
import { differences } from "../../viewer/rules/compare.js";
import { readStandard } from "../../viewer/rules/standard.js";

const [path, expected] = process.argv.slice(2);
const standards = new Map();

function standardOf(number) {
  if (number === null) return null;
  if (!standards.has(number)) {
    standards.set(number, readStandard(readFileSync(join(dirname(path), `standard-${number}.toml`), "utf8")));
  }
  return standards.get(number);
}

/** Waveforms are not measured again: whether each lies within its limits is taken over. */
const withins = (assessment) => assessment.waveforms.map(({ within }) => within);

let records = 0;
let apart = 0;
for await (const line of createInterface({ input: createReadStream(path) })) {
  const { seed, standard, record, assessment } = JSON.parse(line);
  records += 1;
  const found = differences(assessment, assess(record, standardOf(standard), withins(assessment)));
  if (found.length === 0) continue;
  apart += 1;
  if (apart > 5) continue;
  console.log(`record ${seed}, standard ${standard}:`);
  for (const { where, pack, derived } of found.slice(0, 6)) console.log(`  ${where}\n    Rust:   ${pack}\n    viewer: ${derived}`);
}
console.log(`${records} records, ${apart} on which the two differ`);
process.exitCode = apart === 0 && records === Number(expected) ? 0 : 1;
