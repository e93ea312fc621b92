// CRC-32 of the zip format, over chunks.

const TABLE = Uint32Array.from({ length: 256 }, (_, byte) => {
  for (let bit = 0; bit < 8; bit += 1) byte = byte & 1 ? (byte >>> 1) ^ 0xedb88320 : byte >>> 1;
  return byte >>> 0;
});

/** Goes on from the CRC of what came before; 0 at the start. */
export function crc32(bytes, before = 0) {
  let crc = ~before;
  for (const byte of bytes) crc = TABLE[(crc ^ byte) & 255] ^ (crc >>> 8);
  return ~crc >>> 0;
}
