// The bytes of one entry of a zip, unpacked no further than the directory says.
import fflate from "../vendor/fflate/fflate.cjs";
import { crc32 } from "./crc32.js";
import { Refusal } from "./refusal.js";
import { bytesOf } from "./zip_directory.js";

/** A browser holds a file of this length in one piece; a longer one is said not to be checked. */
export const MOST_BYTES = 1024 * 2 ** 20;
/** A pack stores what would shrink further; a zip that claims more means to fill the memory. */
const HIGHEST_RATIO = 200;
const PIECE = 4 * 2 ** 20;

/** A file that is longer than this page can hold: nothing is known of it, for or against. */
export class TooLong extends Error {}

/**
 * Unpacks an entry. Throws a Refusal where its headers, its lengths or its CRC don't agree with its bytes, and TooLong
 * where it can't be held.
 */
export async function unpack(blob, entry) {
  const wrong = (reason) => new Refusal(`${entry.name}: ${reason}`);
  if (entry.size > 2 ** 20 && entry.size > entry.packed * HIGHEST_RATIO) throw wrong("would unpack to more than 200 times its length");
  if (entry.method === 0 && entry.size !== entry.packed) throw wrong(`is stored in ${entry.packed} bytes, and is said to be ${entry.size} bytes long`);
  if (entry.size > MOST_BYTES) throw new TooLong(`${entry.name}: ${entry.size} bytes are more than this page can hold in one piece; it was not looked at`);
  const header = new DataView((await bytesOf(blob, entry.offset, entry.offset + 30)).buffer);
  if (header.byteLength < 30 || header.getUint32(0, true) !== 0x04034b50) throw wrong("no file begins where the directory says");
  const nameLength = header.getUint16(26, true);
  const start = entry.offset + 30 + nameLength + header.getUint16(28, true);
  const name = new TextDecoder().decode(await bytesOf(blob, entry.offset + 30, entry.offset + 30 + nameLength));
  if (name !== entry.name || header.getUint16(8, true) !== entry.method) throw wrong("is named or packed otherwise at its own place");
  const bytes = entry.method === 0 ? await bytesOf(blob, start, start + entry.packed) : await inflate(blob, start, entry, wrong);
  if (bytes.length !== entry.size) throw wrong(`is ${bytes.length} bytes long, the directory says ${entry.size}`);
  if (crc32(bytes) !== entry.crc) throw wrong("is damaged: its CRC does not agree");
  return bytes;
}

async function inflate(blob, start, entry, wrong) {
  const bytes = new Uint8Array(entry.size);
  let length = 0;
  let ended = false;
  const inflator = new fflate.Inflate((piece, last) => {
    if (length + piece.length > entry.size) throw wrong("unpacks to more than the directory says");
    bytes.set(piece, length);
    length += piece.length;
    ended ||= last;
  });
  for (let at = 0; at < entry.packed || at === 0; at += PIECE) {
    const end = Math.min(at + PIECE, entry.packed);
    const piece = await bytesOf(blob, start + at, start + end);
    try {
      inflator.push(piece, end === entry.packed);
    } catch (error) {
      throw error instanceof Refusal ? error : wrong(`can't be unpacked (${error.message})`);
    }
  }
  if (!ended) throw wrong("its packed bytes are cut short");
  return bytes.subarray(0, length);
}
