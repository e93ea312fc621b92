// A dropped zip from its first byte to what can be said of it: structure, checksums, seal, signatures, verdict.
import { assess, RULES_VERSION } from "../rules/assess.js";
import { differences } from "../rules/compare.js";
import { list } from "../rules/facts.js";
import { readStandard } from "../rules/standard.js";
import { checkBag, filesOf, readFiles } from "./bag.js";
import { canChecksum, checksum } from "./checksum.js";
import { readLabels } from "./manifest.js";
import { Refusal } from "./refusal.js";
import { checkSignature } from "./signature.js";
import { bytesOf, readDirectory } from "./zip_directory.js";
import { MOST_BYTES } from "./zip_member.js";

const PACK_VERSION = "1";
const SEAL = /^fulgurite zip form 1, sha256 of all bytes before this comment: ([0-9a-f]{64})$/;

/** Throws a Refusal where the file is no pack, or not a sound zip; everything else is told in the result. */
export async function examine(blob, progress) {
  if (!canChecksum()) throw new Refusal("this browser gives pages opened from disk no checksums; nothing was checked");
  const { entries, comment } = await readDirectory(blob);
  const files = filesOf(entries);
  const read = await readFiles(blob, files, progress);
  const { sums, texts } = read;
  const labels = readLabels(texts.get("bag-info.txt") ?? "");
  const version = labels.find(({ label }) => label === "Fulgurite-Pack-Version")?.value ?? null;
  const checks = [...checkBag(files, read, version !== null), ...sources(texts, sums)];
  const signatures = version === null ? [] : await signaturesOf(files, texts);
  const seal = await sealOf(blob, comment);
  const pack = {
    files,
    labels,
    version,
    identity: sums.get("tagmanifest-sha256.txt")?.sha256 ?? null,
    checks,
    seal,
    signatures,
    contents: parsed(texts, "data/contents.json"),
    record: parsed(texts, "data/record.json"),
    assessment: parsed(texts, "data/assessment.json"),
    intact: checks.every(({ state }) => state !== "failed") && signatures.every(({ state }) => state !== "failed"),
  };
  return { ...pack, again: deriveAgain(pack, texts) };
}

function parsed(texts, path) {
  try {
    return JSON.parse(texts.get(path));
  } catch {
    return null;
  }
}

/** The record states the checksum of each original file; the packed one must be that file. */
function sources(texts, sums) {
  const record = parsed(texts, "data/record.json");
  const contents = parsed(texts, "data/contents.json");
  if (!record || !contents) return [];
  const packed = new Map(list(contents.files).filter(({ role }) => role === "source").map((one) => [one.original_name, one.path]));
  const absent = new Set(list(contents.absent).map((one) => one.original_name));
  const problems = [];
  let agree = 0;
  for (const { name, sha256 } of list(record.sources)) {
    const path = packed.get(name);
    if (path === undefined && absent.has(name)) continue;
    if (path === undefined) problems.push({ path: name, what: "is named by the record and not packed" });
    else if (sums.get(path)?.sha256 !== sha256) problems.push({ path, what: "is not the file that the record was read from" });
    else agree += 1;
  }
  const notThere = absent.size ? `; ${absent.size} were not at hand when the pack was made` : "";
  const name = "The packed originals are those that the record was read from";
  return [{ name, state: problems.length ? "failed" : "ok", text: `${agree} files${notThere}`, problems }];
}

/** Whether the zip itself is as it was written; a zip packed again holds the same pack and says so. */
async function sealOf(blob, comment) {
  const found = SEAL.exec(comment);
  if (!found) return { state: "none", text: "The zip carries no seal: it was packed again by another program. The files inside are checked above." };
  if (blob.size > MOST_BYTES) return { state: "not-checked", text: "The zip is too long for this browser to check its seal in one piece." };
  const before = await bytesOf(blob, 0, blob.size - new TextEncoder().encode(comment).length);
  return (await checksum("SHA-256", before)) === found[1]
    ? { state: "ok", text: "The zip is byte for byte as it was written." }
    : { state: "broken", text: "The zip was changed after it was written; which files that concerns is said above." };
}

async function signaturesOf(files, texts) {
  const message = texts.get("tagmanifest-sha256.txt");
  const found = [];
  for (const path of [...files.keys()].filter((name) => /^signatures\/[^/]+\.sig$/.test(name)).sort()) {
    const known = message !== undefined && texts.has(path);
    const result = known
      ? await checkSignature(texts.get(path), new TextEncoder().encode(message))
      : { state: "failed", text: "can't be read, or what it signs can't" };
    found.push({ path, ...result });
  }
  return found;
}

/** The verdict from record and standard alone, by this page's own rules, and where it differs from the pack's. */
function deriveAgain({ version, record, assessment, contents }, texts) {
  if (version === null) return { state: "not-derived", text: "This is a bag of another maker: it was checked as a bag only." };
  if (version !== PACK_VERSION) return { state: "not-derived", text: `Packs of version ${version} are not known to this page.` };
  if (!record || !assessment) return { state: "not-derived", text: "Record or assessment can't be read." };
  if (record.schema !== 1) return { state: "not-derived", text: `Records of schema ${record.schema} are not known to this page.` };
  if (assessment.rules_version !== RULES_VERSION) {
    const text = `Made under rules ${assessment.rules_version}; this page has rules ${RULES_VERSION}: integrity checked, verdict not derived again.`;
    return { state: "not-derived", text };
  }
  try {
    const { standard, path } = standardOf(record, assessment, contents, texts);
    const derived = assess(record, standard, list(assessment.waveforms).map(({ within }) => within));
    const found = differences(assessment, derived);
    return { state: found.length ? "differs" : "agrees", derived, differences: found, standard: path };
  } catch (error) {
    return { state: "not-derived", text: `The verdict could not be derived again: ${error.message}.` };
  }
}

/** The data that the pack's assessment was made with, from the pack itself. */
function standardOf(record, assessment, contents, texts) {
  if (assessment.standard === null) return { standard: null, path: null };
  const paths = list(contents?.files).filter(({ role }) => role === "standard").map(({ path }) => path);
  for (const path of paths.filter((one) => texts.has(one))) {
    const standard = readStandard(texts.get(path));
    if (standard.id === record.facts?.method?.standard) return { standard, path };
  }
  throw new Error(`the pack holds no data of the standard ${record.facts?.method?.standard}`);
}
