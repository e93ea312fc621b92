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
  const { sums, texts, unread } = read;
  const labels = readLabels(texts.get("bag-info.txt") ?? "");
  const version = labels.find(({ label }) => label === "Fulgurite-Pack-Version")?.value ?? null;
  const checks = [...checkBag(files, read, version !== null), ...(version === null ? [] : [readable(texts, unread)]), ...sources(texts, sums, unread)];
  const signatures = version === null ? [] : asNamed(await signaturesOf(files, texts), parsed(texts, "data/record.json"));
  const seal = await sealOf(blob, comment);
  const pack = {
    files,
    labels,
    version,
    identity: sums.get("tagmanifest-sha256.txt")?.sha256 ?? null,
    checks,
    seal,
    signatures,
    unread: [...unread],
    contents: contentsOf(texts),
    record: parsed(texts, "data/record.json"),
    assessment: parsed(texts, "data/assessment.json"),
    intact: checks.every(({ state }) => state !== "failed") && signatures.every(({ state }) => state !== "failed"),
  };
  return { ...pack, again: deriveAgain(pack, texts) };
}

/** The objects of a list, whatever stands there. */
const objects = (all) => (Array.isArray(all) ? all.filter((one) => one !== null && typeof one === "object") : []);

/** The table of contents; entries that are none are left out here, and the check of the table names it. */
function contentsOf(texts) {
  const contents = parsed(texts, "data/contents.json");
  return contents === null || typeof contents !== "object" ? null : { ...contents, files: objects(contents.files), absent: objects(contents.absent) };
}

function parsed(texts, path) {
  try {
    return JSON.parse(texts.get(path));
  } catch {
    return null;
  }
}

/** Record and assessment, without which there is nothing to show and nothing to derive. */
function readable(texts, unread) {
  const name = "Record and assessment can be read";
  const wanted = ["data/record.json", "data/assessment.json"].filter((path) => !unread.has(path));
  const isObject = (value) => value !== null && typeof value === "object" && !Array.isArray(value);
  const problems = wanted.filter((path) => !isObject(parsed(texts, path))).map((path) => ({ path, what: "is no object of JSON" }));
  return { name, state: problems.length ? "failed" : wanted.length < 2 ? "not-checked" : "ok", text: "", problems };
}

/** The file of a source, which may be one sheet of it: `book.xlsx:Contact`. */
function fileOf({ name, part }) {
  const ending = typeof part === "string" ? `:${part}` : null;
  return ending !== null && typeof name === "string" && name.endsWith(ending) ? name.slice(0, -ending.length) : name;
}

/** The record states the checksum of each original file; the packed one must be that file. */
function sources(texts, sums, unread) {
  const record = parsed(texts, "data/record.json");
  const contents = contentsOf(texts);
  if (!record || !contents) return [];
  const packed = new Map(list(contents.files).filter(({ role }) => role === "source").map((one) => [one.original_name, one.path]));
  const absent = new Set(list(contents.absent).map((one) => one.original_name));
  const stated = record.sources ?? [];
  const isList = Array.isArray(stated) && objects(stated).length === stated.length;
  const problems = isList ? [] : [{ path: "data/record.json", what: "has no list of its original files" }];
  const open = [];
  let agree = 0;
  for (const source of objects(stated)) {
    const { sha256 } = source;
    const file = fileOf(source);
    const path = packed.get(file);
    if (path === undefined && absent.has(file)) continue;
    if (path === undefined) problems.push({ path: file, what: "is named by the record and not packed" });
    else if (unread.has(path)) open.push(path);
    else if (sums.get(path)?.sha256 !== sha256) problems.push({ path, what: "is not the file that the record was read from" });
    else agree += 1;
  }
  const notThere = absent.size ? `; ${absent.size} were not at hand when the pack was made` : "";
  const name = "The packed originals are those that the record was read from";
  const tooLong = open.length ? `; not checked, too long for this page: ${open.join(", ")}` : "";
  const state = problems.length ? "failed" : open.length ? "not-checked" : "ok";
  return [{ name, state, text: `${agree} files${notThere}${tooLong}`, problems }];
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

/** Signatures against the keys that the record names, and the paper prints: another key is not in order. */
export function asNamed(signatures, record) {
  const people = objects(record?.facts?.people);
  return signatures.map((one) => {
    if (one.state === "failed" || !one.fingerprint) return one;
    const may = people.filter(({ part }) => part === one.as);
    const named = may.find(({ key }) => key === one.fingerprint);
    if (named) return { ...one, text: `${one.text}, which the record names for ${named.name}` };
    if (may.length === 0 || may.some(({ key }) => key === undefined || key === null)) return one;
    const others = may.map(({ name, key }) => `${key} for ${name}`).join(", ");
    return { ...one, state: "failed", text: `${one.text}, and the record names another: ${others}` };
  });
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
