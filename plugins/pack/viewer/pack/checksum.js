// Checksums by the browser's own Web Crypto.

/** Whether this browser gives pages opened from disk their cryptography. */
export const canChecksum = () => Boolean(globalThis.crypto?.subtle);

export async function checksum(name, bytes) {
  const digest = await crypto.subtle.digest(name, bytes);
  return hex(new Uint8Array(digest));
}

export const hex = (bytes) => Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
