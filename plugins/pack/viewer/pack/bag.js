// The folder inside a zip as a BagIt bag (RFC 8493): is everything there, and are the bytes those of the checksums?
import { checksum } from "./checksum.js";
import { readLabels, readManifest, WEB_NAMES } from "./manifest.js";
import { Refusal, refuse } from "./refusal.js";
import { TooLong, unpack } from "./zip_member.js";

const ALGORITHMS = ["sha256", "sha512"];
/** Files that the page needs as text; all others are let go of once their checksums are taken. */
const KEPT = /^(data\/(record|assessment|contents)\.json|data\/standards\/[^/]+\.toml|[^/]+\.txt|signatures\/[^/]+)$/;
const MOST_TEXT = 256 * 2 ** 20;

/** The files of the bag by their path inside it. */
export function filesOf(entries) {
  const declared = entries.filter(({ name }) => /^([^/]+\/)?bagit\.txt$/.test(name));
  if (declared.length !== 1) refuse(null, "it holds no evidence pack: there is not exactly one bagit.txt");
  const folder = declared[0].name.slice(0, -"bagit.txt".length);
  const files = new Map();
  let hasPayload = false;
  for (const entry of entries) {
    if (!entry.name.startsWith(folder)) refuse(entry.name, `lies outside the folder ${folder}`);
    const path = entry.name.slice(folder.length);
    hasPayload ||= PAYLOAD(path);
    if (!path.endsWith("/") && path !== "") files.set(path, entry);
  }
  if (!hasPayload) refuse(null, "it holds no evidence pack: the folder data is missing");
  return files;
}

/**
 * Unpacks every file once and takes its checksums: `sums`, `texts` and `broken` by path, and the set of paths of files
 * that are too long to be `unread`.
 */
export async function readFiles(blob, files, progress) {
  const sums = new Map();
  const texts = new Map();
  const broken = new Map();
  const unread = new Set();
  const all = [...files.values()].reduce((sum, { size }) => sum + size, 0);
  let done = 0;
  for (const [path, entry] of files) {
    progress?.(done, all, path);
    try {
      const bytes = await unpack(blob, entry);
      const own = {};
      for (const algorithm of ALGORITHMS) own[algorithm] = await checksum(WEB_NAMES[algorithm], bytes);
      sums.set(path, own);
      if (KEPT.test(path) && bytes.length <= MOST_TEXT) texts.set(path, new TextDecoder("utf-8", { ignoreBOM: true }).decode(bytes));
    } catch (error) {
      if (error instanceof TooLong) unread.add(path);
      else if (!(error instanceof Refusal)) throw error;
      else broken.set(path, error.message.slice(entry.name.length + 2));
    }
    done += entry.size;
  }
  progress?.(done, all, "");
  return { sums, texts, broken, unread };
}

const PAYLOAD = (path) => path.startsWith("data/");
const TAG_MANIFEST = /^tagmanifest-.*\.txt$/;
/** Made after the tag manifest, over it: no manifest of a pack can list them. */
const SIGNATURE = (path) => path.startsWith("signatures/");

/**
 * Every check of the bag: `{ name, state, text, problems: [{ path, what }] }`. A pack of ours has more than a bag of
 * another maker must have: both manifests of each kind, every tag file listed, and a table of contents.
 */
export function checkBag(files, read, isOurs) {
  const { texts } = read;
  const payload = [...files.keys()].filter(PAYLOAD);
  const tags = [...files.keys()].filter((path) => !PAYLOAD(path) && !TAG_MANIFEST.test(path));
  const wanted = (manifest) => isOurs || files.has(manifest);
  const manifests = ALGORITHMS.flatMap((algorithm) => [
    ["payload", `manifest-${algorithm}.txt`, algorithm, payload],
    ["tag", `tagmanifest-${algorithm}.txt`, algorithm, tags],
  ]).filter(([, manifest]) => wanted(manifest));
  const checks = [unpacked(files, read), declaration(texts, isOurs)];
  if (isOurs || texts.has("bag-info.txt")) checks.push(counts(files, texts, isOurs));
  for (const one of manifests) checks.push(heldAgainst(...one, read, isOurs));
  if (!manifests.some(([kind]) => kind === "payload")) {
    checks.push(otherManifests(files));
  }
  if (files.has("fetch.txt")) checks.push(fetched(isOurs, texts, manifests));
  return isOurs ? [...checks, tableOfContents(files, texts)] : checks;
}

function check(name, sound, problems) {
  return { name, state: problems.length ? "failed" : "ok", text: problems.length ? "" : sound, problems };
}

function unpacked(files, { broken, unread }) {
  const problems = [...broken].map(([path, what]) => ({ path, what }));
  const name = "Every file unpacks, with the length and CRC that the zip states";
  return leftOpen(check(name, `${files.size - unread.size} files`, problems), unread);
}

/** A check that passed as far as it went is not done where files were too long for this page. */
function leftOpen(found, unread) {
  const paths = [...unread];
  if (paths.length === 0) return found;
  const text = `${found.text}${found.text ? "; " : ""}not checked, too long for this page: ${paths.join(", ")}`;
  return { ...found, text, state: found.state === "ok" ? "not-checked" : found.state, unread: paths };
}

function declaration(texts, isOurs) {
  const form = isOurs
    ? /^BagIt-Version: 1\.0\nTag-File-Character-Encoding: UTF-8\n$/
    : /^BagIt-Version: (0\.9[5-7]|1\.0)\r?\nTag-File-Character-Encoding: UTF-8(\r?\n)?$/;
  const problem = { path: "bagit.txt", what: "does not say BagIt 1.0 in UTF-8" };
  return check("The folder is a BagIt bag", "declared in bagit.txt", form.test(texts.get("bagit.txt") ?? "") ? [] : [problem]);
}

/** Older bags list MD5 or SHA-1 only, which prove nothing any more and are not computed here. */
function otherManifests(files) {
  const name = "A manifest with checksums of the payload";
  const old = ["manifest-md5.txt", "manifest-sha1.txt"].filter((manifest) => files.has(manifest));
  if (old.length) return { name, state: "not-checked", text: `${old.join(", ")} only; this page computes SHA-256 and SHA-512`, problems: [] };
  return check(name, "", [{ path: "manifest-sha256.txt", what: "is missing, and so is every other manifest" }]);
}

/** A pack is complete in itself; of another bag each line must name a file that a manifest lists. */
function fetched(isOurs, texts, manifests) {
  const name = "Nothing has to be fetched from elsewhere";
  if (isOurs) return check(name, "", [{ path: "fetch.txt", what: "does not belong into a pack" }]);
  const listed = new Set(manifests.flatMap(([, manifest, algorithm]) => [...readManifest(texts.get(manifest) ?? "", algorithm).sums.keys()]));
  const lines = (texts.get("fetch.txt") ?? "").split(/\r\n|\r|\n/).filter((line) => line.trim() !== "");
  const stray = lines.map((line) => line.replace(/^\S+\s+\S+\s+/, "")).filter((path) => !listed.has(path));
  return check(name, "every file that fetch.txt names is here", stray.map((path) => ({ path, what: "is named in fetch.txt and in no manifest" })));
}

function counts(files, texts, isOurs) {
  const name = "Number and length of the payload (Payload-Oxum)";
  const payload = [...files].filter(([path]) => PAYLOAD(path));
  const bytes = payload.reduce((sum, [, { size }]) => sum + size, 0);
  const found = `${bytes}.${payload.length}`;
  const labels = readLabels(texts.get("bag-info.txt") ?? "");
  const stated = labels.filter(({ label }) => label.toLowerCase() === "payload-oxum").map(({ value }) => value);
  if (stated.length === 0 && !isOurs) return { name, state: "not-checked", text: "not stated", problems: [] };
  if (stated.length !== 1) return check(name, "", [{ path: "bag-info.txt", what: "does not state one Payload-Oxum" }]);
  const problem = { path: "bag-info.txt", what: `states ${stated[0]}, the pack holds ${found}` };
  return check(name, `${payload.length} files, ${bytes} bytes`, stated[0] === found ? [] : [problem]);
}

/** A manifest against the files: each is listed once with the checksum of its bytes, and nothing else is listed. */
function heldAgainst(kind, manifest, algorithm, paths, { sums, texts, broken, unread }, isOurs) {
  const name = `${WEB_NAMES[algorithm]} of every ${kind} file (${manifest})`;
  if (!texts.has(manifest)) return check(name, "", [{ path: manifest, what: "is missing or can't be read" }]);
  const { sums: listed, problems: lines } = readManifest(texts.get(manifest), algorithm);
  const problems = lines.map((what) => ({ path: manifest, what }));
  for (const path of paths) {
    const stated = listed.get(path);
    if (stated === undefined && (kind === "payload" || (isOurs && !SIGNATURE(path)))) problems.push({ path, what: `is not listed in ${manifest}` });
    else if (stated === undefined) continue;
    else if (broken.has(path)) problems.push({ path, what: "could not be read, so its checksum is not known" });
    else if (unread.has(path)) continue;
    else if (stated !== sums.get(path)[algorithm]) problems.push({ path, what: `was altered: its ${WEB_NAMES[algorithm]} is another` });
  }
  const present = new Set(paths);
  for (const path of listed.keys()) if (!present.has(path)) problems.push({ path, what: `is listed in ${manifest} and missing` });
  const open = new Set(paths.filter((path) => unread.has(path) && listed.has(path)));
  return leftOpen(check(name, `${listed.size - open.size} checksums agree`, problems), open);
}

/** `data/contents.json` and the payload are the same set of files. */
function tableOfContents(files, texts) {
  const path = "data/contents.json";
  const name = "The table of contents lists every payload file";
  let contents;
  try {
    contents = JSON.parse(texts.get(path));
    if (!Array.isArray(contents.files) || contents.files.some((entry) => typeof entry?.path !== "string")) throw new Error("no list");
  } catch {
    return check(name, "", [{ path, what: "is missing or is no table of contents" }]);
  }
  const listed = new Set(contents.files.map((entry) => entry.path));
  const problems = [];
  for (const one of listed) if (!files.has(one)) problems.push({ path: one, what: "is in the table of contents and missing" });
  for (const one of files.keys()) {
    if (PAYLOAD(one) && one !== path && !listed.has(one)) problems.push({ path: one, what: "is not in the table of contents" });
  }
  return check(name, `${listed.size} files`, problems);
}
