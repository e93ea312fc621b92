// The list of entries of a zip, read from its central directory, and nothing believed that two places could contradict.
import { refuse } from "./refusal.js";

const END = 0x06054b50;
const END64 = 0x06064b50;
const LOCATOR64 = 0x07064b50;
const ENTRY = 0x02014b50;
const LONG = 0xffffffff;
/** No pack has more; a directory that claims more is not read. */
const MOST_ENTRIES = 200_000;
const MOST_DIRECTORY_BYTES = 128 * 2 ** 20;

/** Entries in the order of the directory, and the zip's comment. Throws a Refusal where the structure is not sound. */
export async function readDirectory(blob) {
  const tail = await bytesOf(blob, Math.max(0, blob.size - 65_557), blob.size);
  const at = findEnd(tail);
  if (at < 0) refuse(null, "this is not a zip file, or its end is missing");
  const end = new DataView(tail.buffer, at);
  const endAt = blob.size - tail.length + at;
  let place = { count: end.getUint16(10, true), size: end.getUint32(12, true), offset: end.getUint32(16, true) };
  if (end.getUint16(4, true) !== 0 || end.getUint16(6, true) !== 0) refuse(null, "a zip in several parts can't be read");
  let directoryEnd = endAt;
  if (place.count === 0xffff || place.size === LONG || place.offset === LONG) {
    ({ place, directoryEnd } = await readEnd64(blob, endAt, place));
  }
  if (place.count > MOST_ENTRIES || place.size > MOST_DIRECTORY_BYTES) refuse(null, "the zip lists too many files");
  if (place.offset + place.size !== directoryEnd) refuse(null, "the zip's directory does not end where the zip says");
  const directory = await bytesOf(blob, place.offset, directoryEnd);
  const entries = readEntries(directory, place.count);
  checkNames(entries);
  checkPlaces(entries, place.offset);
  return { entries, comment: text(tail.subarray(at + 22)) };
}

/** Place of the end record whose comment runs exactly to the end of the file. */
function findEnd(tail) {
  const view = new DataView(tail.buffer);
  for (let at = tail.length - 22; at >= 0; at -= 1) {
    if (view.getUint32(at, true) === END && at + 22 + view.getUint16(at + 20, true) === tail.length) return at;
  }
  return -1;
}

async function readEnd64(blob, endAt, place) {
  if (endAt < 76) return { place, directoryEnd: endAt };
  const locator = view(await bytesOf(blob, endAt - 20, endAt));
  if (locator.getUint32(0, true) !== LOCATOR64) return { place, directoryEnd: endAt };
  const directoryEnd = whole(locator, 8);
  const end = view(await bytesOf(blob, directoryEnd, directoryEnd + 56));
  if (end.byteLength < 56 || end.getUint32(0, true) !== END64) refuse(null, "the zip's long directory is not where it should be");
  return { place: { count: whole(end, 32), size: whole(end, 40), offset: whole(end, 48) }, directoryEnd };
}

function readEntries(directory, count) {
  const all = view(directory);
  const entries = [];
  let at = 0;
  while (at + 46 <= directory.length && all.getUint32(at, true) === ENTRY) {
    const [nameLength, extraLength, commentLength] = [28, 30, 32].map((offset) => all.getUint16(at + offset, true));
    const name = directory.subarray(at + 46, at + 46 + nameLength);
    const extra = directory.subarray(at + 46 + nameLength, at + 46 + nameLength + extraLength);
    entries.push(
      entryOf(text(name), extra, {
        flags: all.getUint16(at + 8, true),
        method: all.getUint16(at + 10, true),
        crc: all.getUint32(at + 16, true),
        packed: all.getUint32(at + 20, true),
        size: all.getUint32(at + 24, true),
        mode: all.getUint32(at + 38, true) >>> 16,
        offset: all.getUint32(at + 42, true),
      }),
    );
    at += 46 + nameLength + extraLength + commentLength;
  }
  if (at !== directory.length || entries.length !== count) refuse(null, "the zip's directory is cut short, doubled or not in order");
  return entries;
}

function entryOf(name, extra, entry) {
  if (entry.size === LONG || entry.packed === LONG || entry.offset === LONG) readExtra64(name, extra, entry);
  if (entry.flags & 0x2041) refuse(name, "is encrypted; nothing in a pack is");
  if (entry.method !== 0 && entry.method !== 8) refuse(name, `is packed by method ${entry.method}, which is not read here`);
  if (![0, 0o040000, 0o100000].includes(entry.mode & 0o170000)) refuse(name, "is a link or a device; a pack holds files only");
  if (name.endsWith("/") && entry.size > 0) refuse(name, "is a folder with content of its own");
  return { name, ...entry };
}

/** The extra field with the long forms of those numbers that did not fit, in fixed order. */
function readExtra64(name, extra, entry) {
  const fields = view(extra);
  for (let at = 0; at + 4 <= extra.length; at += 4 + fields.getUint16(at + 2, true)) {
    if (fields.getUint16(at, true) !== 1) continue;
    let next = at + 4;
    for (const key of ["size", "packed", "offset"]) {
      if (entry[key] !== LONG) continue;
      if (next + 8 > extra.length) refuse(name, "its long lengths are cut short");
      entry[key] = whole(fields, next);
      next += 8;
    }
    return;
  }
}

/** Names that could leave the folder, or that two systems would take for one file. */
function checkNames(entries) {
  const seen = new Map();
  for (const { name } of entries) {
    const parts = name.replace(/\/$/, "").split("/");
    if (/^[/~]|^[A-Za-z]:|[\\\0-\x1f\x7f]/.test(name) || parts.some((part) => part === "" || part === "." || part === "..")) {
      refuse(JSON.stringify(name), "is no name that a file in a pack can have");
    }
    if (parts.length > 32 || lengthOf(name) > 1024 || parts.some((part) => lengthOf(part) > 255)) {
      refuse(`${name.slice(0, 60)}...`, "is nested too deep or named too long for a file system");
    }
    const folded = name.normalize("NFC").toLowerCase();
    if (seen.has(folded)) refuse(name, `collides with ${seen.get(folded)}`);
    seen.set(folded, name);
  }
  for (const [folded, name] of seen) {
    for (let at = folded.indexOf("/"); at >= 0; at = folded.indexOf("/", at + 1)) {
      if (seen.has(folded.slice(0, at))) refuse(name, `lies below ${seen.get(folded.slice(0, at))}, which is a file`);
    }
  }
}

/** Two entries that share bytes are a trick. Local headers take at least 30 bytes each. */
function checkPlaces(entries, directoryAt) {
  let end = 0;
  for (const entry of [...entries].sort((a, b) => a.offset - b.offset)) {
    if (entry.offset < end) refuse(entry.name, "shares bytes of the zip with another entry");
    end = entry.offset + 30 + entry.packed;
    if (end > directoryAt) refuse(entry.name, "reaches beyond the files' part of the zip");
  }
}

export async function bytesOf(blob, from, to) {
  return new Uint8Array(await blob.slice(from, to).arrayBuffer());
}

const lengthOf = (text) => new TextEncoder().encode(text).length;

const view = (bytes) => new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);

function text(bytes) {
  try {
    return new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    return refuse(null, `a name in it is not UTF-8: ${new TextDecoder().decode(bytes)}`);
  }
}

function whole(data, at) {
  const value = data.getBigUint64(at, true);
  if (value > BigInt(Number.MAX_SAFE_INTEGER)) refuse(null, "the zip states a length that can't be");
  return Number(value);
}
