// A photo from the camera or from a file, kept byte for byte.

/// Reads a picture file: `{ file, type, bytes, sha256, base64 }`.
export async function readPhoto(file, name) {
  const buffer = await file.arrayBuffer();
  const bytes = new Uint8Array(buffer);
  const type = kind(bytes);
  if (!type) throw new Error("only JPEG and PNG pictures are taken");
  // Where a page may not compute digests, the program that reads the form does.
  const digest = crypto.subtle ? new Uint8Array(await crypto.subtle.digest("SHA-256", buffer)) : [];
  const sha256 = [...digest].map((b) => b.toString(16).padStart(2, "0")).join("");
  let text = "";
  for (let i = 0; i < bytes.length; i += 0x8000) text += String.fromCharCode(...bytes.subarray(i, i + 0x8000));
  return { file: `${name}.${type === "image/jpeg" ? "jpg" : "png"}`, type, bytes: bytes.length, ...(sha256 ? { sha256 } : {}), base64: btoa(text) };
}

/// The kind of picture by its first bytes; the name of a file proves nothing.
export function kind(bytes) {
  if (bytes[0] === 0xff && bytes[1] === 0xd8 && bytes[2] === 0xff) return "image/jpeg";
  if (bytes[0] === 0x89 && bytes[1] === 0x50 && bytes[2] === 0x4e && bytes[3] === 0x47) return "image/png";
  return null;
}
