// OpenSSH signatures (PROTOCOL.sshsig of OpenSSH) by Ed25519 keys, checked with the browser's own Web Crypto.
import { checksum } from "./checksum.js";

const MAGIC = "SSHSIG";
/** What a signature on a pack is made for; its last part says as what the person signed. */
const PURPOSE = /^fulgurite-pack(-(tested|checked|authorised))?$/;
const HASHES = { sha256: "SHA-256", sha512: "SHA-512" };

/**
 * Checks a signature file against the bytes that it should sign. `state`: "ok", "failed" or "not-checked"; `text` says
 * what is so. A good signature shows that the holder of a key signed, not who that is.
 */
export async function checkSignature(armoured, message, purpose = PURPOSE) {
  let signature;
  try {
    signature = readSignature(armoured);
  } catch (error) {
    return { state: "failed", text: `is no OpenSSH signature (${error.message})` };
  }
  const { key, keyType, namespace, reserved, hash, value, valueType } = signature;
  const fingerprint = `SHA256:${btoa(binary(fromHex(await checksum("SHA-256", key)))).replace(/=+$/, "")}`;
  const found = { fingerprint, namespace, as: purpose.exec(namespace)?.[2] ?? null };
  if (!purpose.test(namespace)) return { ...found, state: "failed", text: `was made for another purpose (${namespace})` };
  if (!HASHES[hash]) return { ...found, state: "failed", text: `uses the checksum ${hash}` };
  if (keyType !== "ssh-ed25519" || valueType !== "ssh-ed25519") {
    return { ...found, state: "not-checked", text: `is made with a key of the kind ${keyType}; this page checks Ed25519 only` };
  }
  const digest = fromHex(await checksum(HASHES[hash], message));
  const signed = joined(ascii(MAGIC), field(ascii(namespace)), field(reserved), field(ascii(hash)), field(digest));
  let sound;
  try {
    const raw = strings(key, 0, 2)[1];
    const imported = await crypto.subtle.importKey("raw", raw, { name: "Ed25519" }, false, ["verify"]);
    sound = await crypto.subtle.verify({ name: "Ed25519" }, imported, value, signed);
  } catch (error) {
    return { ...found, state: "not-checked", text: `this browser can't check Ed25519 (${error.name})` };
  }
  return sound
    ? { ...found, state: "ok", text: `is a good signature by the key ${fingerprint}` }
    : { ...found, state: "failed", text: `does not sign this pack (key ${fingerprint})` };
}

/** Fingerprint of a public key line such as `ssh-ed25519 AAAA... name`; null where the text has none. */
export async function fingerprintOf(line) {
  const found = /ssh-ed25519\s+([A-Za-z0-9+/]+=*)/.exec(line);
  if (!found) return null;
  const key = Uint8Array.from(atob(found[1]), (letter) => letter.charCodeAt(0));
  return `SHA256:${btoa(binary(fromHex(await checksum("SHA-256", key)))).replace(/=+$/, "")}`;
}

function readSignature(armoured) {
  const found = /^-----BEGIN SSH SIGNATURE-----\s+([A-Za-z0-9+/=\s]+?)\s*-----END SSH SIGNATURE-----\s*$/.exec(armoured);
  if (!found) throw new Error("its first and last lines are others");
  const blob = Uint8Array.from(atob(found[1].replace(/\s/g, "")), (letter) => letter.charCodeAt(0));
  const version = new DataView(blob.buffer);
  if (blob.length < 10 || binary(blob.subarray(0, 6)) !== MAGIC || version.getUint32(6) !== 1) throw new Error("unknown version");
  const [key, namespace, reserved, hash, signature] = strings(blob, 10, 5);
  const [keyType] = strings(key, 0, 1);
  const [valueType, value] = strings(signature, 0, 2);
  return {
    key,
    keyType: binary(keyType),
    namespace: new TextDecoder().decode(namespace),
    reserved,
    hash: binary(hash),
    value,
    valueType: binary(valueType),
  };
}

/** Length-prefixed fields, one after the other. */
function strings(bytes, at, count) {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  return Array.from({ length: count }, () => {
    if (at + 4 > bytes.length || at + 4 + view.getUint32(at) > bytes.length) throw new Error("it is cut short");
    const start = at + 4;
    at = start + view.getUint32(at);
    return bytes.slice(start, at);
  });
}

function field(bytes) {
  const length = new Uint8Array(4);
  new DataView(length.buffer).setUint32(0, bytes.length);
  return joined(length, bytes);
}

function joined(...parts) {
  const all = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}

const ascii = (text) => new TextEncoder().encode(text);
const binary = (bytes) => String.fromCharCode(...bytes);
const fromHex = (text) => Uint8Array.from(text.match(/../g), (pair) => parseInt(pair, 16));
