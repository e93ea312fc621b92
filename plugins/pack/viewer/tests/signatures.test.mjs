// Signatures made by ssh-keygen, and the reference cases of signatures where they are at hand.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { test } from "node:test";
import { checkSignature, fingerprintOf } from "../pack/signature.js";

const message = new TextEncoder().encode("0123456789abcdef  bagit.txt\n");

function keygen(options, input) {
  const { error, status, stdout } = spawnSync("ssh-keygen", options, { input });
  if (error && !process.env.CI) return null;
  assert.ok(!error && status === 0, `ssh-keygen: ${error ?? status}`);
  return stdout.toString();
}

test("what ssh-keygen signs is good, for its purpose and its bytes only", async (context) => {
  const folder = mkdtempSync(join(tmpdir(), "signature-"));
  context.after(() => rmSync(folder, { recursive: true }));
  const key = join(folder, "key");
  if (keygen(["-q", "-t", "ed25519", "-N", "", "-C", "T. Sedge", "-f", key]) === null) return context.skip("no ssh-keygen");
  const sign = (namespace) => keygen(["-q", "-Y", "sign", "-f", key, "-n", namespace], message);
  const good = sign("fulgurite-pack-checked");
  const found = await checkSignature(good, message);
  assert.equal(found.state, "ok", found.text);
  assert.equal(found.as, "checked");
  const line = readFileSync(`${key}.pub`, "utf8");
  assert.equal(found.fingerprint, await fingerprintOf(line));
  assert.ok(keygen(["-l", "-f", `${key}.pub`]).includes(found.fingerprint));
  assert.equal((await checkSignature(good, message.slice(1))).state, "failed");
  assert.equal((await checkSignature(sign("file"), message)).state, "failed");
  assert.equal((await checkSignature(good.replace(/[a-z]/, "A"), message)).state, "failed");
  assert.equal((await checkSignature("no signature", message)).state, "failed");
  const other = join(folder, "other");
  keygen(["-q", "-t", "ecdsa", "-N", "", "-f", other]);
  const byOther = keygen(["-q", "-Y", "sign", "-f", other, "-n", "fulgurite-pack-tested"], message);
  assert.equal((await checkSignature(byOther, message)).state, "not-checked");
});

const reference = fileURLToPath(new URL("../../../../../shared/reference/signatures/", import.meta.url));

test("the reference cases come out as they say", { skip: !existsSync(reference) && "not at hand" }, async () => {
  const { cases } = JSON.parse(readFileSync(`${reference}expected.json`, "utf8"));
  const asked = Object.entries(cases).filter(([, one]) => one.kind === "sshsig");
  assert.ok(asked.length > 5);
  for (const [name, one] of asked) {
    const signature = readFileSync(reference + one.signature, "latin1");
    const bytes = new Uint8Array(readFileSync(reference + one.message));
    const purpose = new RegExp(`^${one.namespace}$`);
    const { state, fingerprint } = await checkSignature(signature, bytes, purpose);
    // Whose key it is, and until when, only a list of signers can say: the page shows the key and leaves that open.
    const byKey = readFileSync(reference + one.keys, "utf8").includes(one.identity) && !/expired|identity|person|unknown/.test(name);
    if (one.valid && /rsa|ecdsa/.test(name)) assert.equal(state, "not-checked", name);
    else if (one.valid) assert.equal(state, "ok", name);
    else if (byKey) assert.notEqual(state, "ok", name);
    else assert.ok(fingerprint.startsWith("SHA256:"), name);
  }
});
