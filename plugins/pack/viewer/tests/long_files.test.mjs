// A file that is too long for the page: said not to be checked, and neither called sound nor altered.
import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { closeSync, ftruncateSync, mkdtempSync, openAsBlob, openSync, rmSync, writeSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { crc32 } from "node:zlib";
import { test } from "node:test";
import { examine } from "../pack/pack.js";
import { MOST_BYTES } from "../pack/zip_member.js";

const LONG = MOST_BYTES + 5;
const path = "data/long.bin";

/** Writes a zip of stored files; a number in place of text is a hole of that length. */
function stored(file, members) {
  const out = openSync(file, "w");
  let at = 0;
  const put = (bytes) => (at += writeSync(out, bytes, 0, bytes.length, at));
  const listed = [];
  for (const [name, content] of members) {
    const bytes = typeof content === "number" ? null : Buffer.from(content);
    const size = bytes?.length ?? content;
    const fixed = Buffer.alloc(26);
    fixed.writeUInt16LE(20, 0);
    fixed.writeUInt32LE(bytes ? crc32(bytes) : 1, 10);
    fixed.writeUInt32LE(size, 14);
    fixed.writeUInt32LE(size, 18);
    fixed.writeUInt16LE(name.length, 22);
    listed.push([name, fixed, at]);
    put(Buffer.from("PK\x03\x04"));
    put(fixed);
    put(Buffer.from(name));
    if (bytes) put(bytes);
    else at += size;
  }
  const start = at;
  for (const [name, fixed, offset] of listed) {
    const rest = Buffer.alloc(14);
    rest.writeUInt32LE(offset, 10);
    put(Buffer.concat([Buffer.from("PK\x01\x02\x14\x00"), fixed, rest, Buffer.from(name)]));
  }
  const end = Buffer.alloc(22);
  end.write("PK\x05\x06");
  end.writeUInt16LE(listed.length, 8);
  end.writeUInt16LE(listed.length, 10);
  end.writeUInt32LE(at - start, 12);
  end.writeUInt32LE(start, 16);
  put(end);
  ftruncateSync(out, at);
  closeSync(out);
}

/** A bag whose payload is one long file and one short one. */
export function longBag(file, note = "short") {
  const manifest = `${"0".repeat(64)}  ${path}\n${createHash("sha256").update("short").digest("hex")}  data/note.txt\n`;
  stored(file, [
    ["bag/bagit.txt", "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"],
    [`bag/${path}`, LONG],
    ["bag/data/note.txt", note],
    ["bag/manifest-sha256.txt", manifest],
  ]);
}

test("a file of more than 1 GiB is said not to be checked", async (context) => {
  const folder = mkdtempSync(join(tmpdir(), "long-"));
  context.after(() => rmSync(folder, { recursive: true }));
  const zip = join(folder, "bag.zip");
  longBag(zip);
  const found = await examine(await openAsBlob(zip));
  assert.deepEqual(found.unread, [path]);
  assert.deepEqual(found.checks.flatMap(({ problems }) => problems), []);
  const open = found.checks.filter(({ state }) => state === "not-checked");
  assert.ok(open.length >= 2 && open.filter(({ text }) => text.includes(path)).length === 2, JSON.stringify(open));
  assert.equal(found.intact, true);
  // What is short enough is checked all the same.
  longBag(zip, "shirt");
  const other = await examine(await openAsBlob(zip));
  assert.deepEqual(other.checks.flatMap(({ problems }) => problems.map((one) => one.path)), ["data/note.txt"]);
  assert.equal(other.intact, false);
});
