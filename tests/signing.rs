//! Packs signed and judged: by this program, and by `ssh-keygen`, which knows nothing of it.

#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]
#![allow(clippy::print_stderr, reason = "a skipped test says so")]

#[path = "harness/program.rs"]
mod program;

use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use program::{run, text, told};

struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    /// A folder with the pack of the demonstration job and two keys; none where `ssh-keygen` is not there.
    fn new() -> Option<Self> {
        if Command::new("ssh-keygen").arg("-?").output().is_err() {
            eprintln!("skipped: ssh-keygen is not there");
            return None;
        }
        let folder = tempfile::tempdir().unwrap();
        let bench = Self { folder };
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/demo/lock-gate-settled");
        let out = bench.path("");
        let made = run(&["convert", text(&demo), "--to", "pack", "--quiet", "--out", text(&out)]);
        assert!(made.status.success(), "{}", told(&made));
        for (name, kind) in [("sedge", "ed25519"), ("heron", "ecdsa"), ("stranger", "ed25519")] {
            let made = Command::new("ssh-keygen")
                .args(["-q", "-t", kind, "-N", "", "-C", name, "-f"])
                .arg(bench.path(name))
                .output()
                .unwrap();
            assert!(made.status.success(), "{}", told(&made));
        }
        Some(bench)
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn pack(&self) -> PathBuf {
        self.path("lock-gate-settled.evidence.zip")
    }

    fn public(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(&format!("{name}.pub"))).unwrap()
    }

    /// Writes a list of signers, a line each: what stands before the key, and whose key.
    fn signers(&self, name: &str, lines: &[(&str, &str)]) -> PathBuf {
        let path = self.path(name);
        let text: String =
            lines.iter().map(|(before, key)| format!("{before} {}", self.public(key))).collect();
        std::fs::write(&path, text).unwrap();
        path
    }

    fn sign(&self, pack: &Path, key: &str, role: &str, out: &str) -> PathBuf {
        let (key, out) = (self.path(key), self.path(out));
        let signed = run(&["sign", text(pack), "--key", text(&key), "--role", role, "--out", text(&out)]);
        assert!(signed.status.success(), "{}", told(&signed));
        out
    }
}

/// A file of a pack whose name ends so, read by an outside library.
fn inside(pack: &Path, ending: &str) -> Vec<u8> {
    let mut zip = zip::ZipArchive::new(std::fs::File::open(pack).unwrap()).unwrap();
    let names: Vec<String> =
        (0..zip.len()).map(|at| zip.by_index(at).unwrap().name().unwrap().into_owned()).collect();
    let name = names.iter().find(|name| name.ends_with(ending)).unwrap();
    let mut bytes = Vec::new();
    zip.by_name(name).unwrap().read_to_end(&mut bytes).unwrap();
    bytes
}

/// What `verify` says of the signatures: the exit code and the state of the check.
fn judged(pack: &Path, more: &[&str]) -> (i32, String, String) {
    let mut arguments = vec!["verify", text(pack), "--json", "--depth", "full"];
    arguments.extend(more);
    let output = run(&arguments);
    let value: serde_json::Value =
        serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{}", told(&output)));
    let checks = value["checks"].as_array().unwrap();
    let check = checks.iter().find(|check| check["id"] == "signature").unwrap();
    let state = check["state"].as_str().unwrap().to_owned();
    (output.status.code().unwrap(), state, check.to_string())
}

#[test]
fn ssh_keygen_accepts_ours_and_ours_accepts_ssh_keygens() {
    let Some(bench) = Bench::new() else { return };
    let signers = bench.signers(
        "signers",
        &[
            ("t.sedge@example.invalid namespaces=\"fulgurite-pack-checked\"", "sedge"),
            ("o.heron@example.invalid namespaces=\"fulgurite-pack-*\"", "heron"),
        ],
    );
    // Ours, judged by ssh-keygen.
    let checked = bench.sign(&bench.pack(), "sedge", "checked", "1.zip");
    let signature = bench.path("ours.sig");
    std::fs::write(&signature, inside(&checked, ".sig")).unwrap();
    let message = inside(&checked, "/tagmanifest-sha256.txt");
    let ask = |namespace: &str, message: &[u8]| {
        let mut judge = Command::new("ssh-keygen")
            .args([
                "-Y",
                "verify",
                "-f",
                text(&signers),
                "-I",
                "t.sedge@example.invalid",
                "-n",
                namespace,
                "-s",
            ])
            .arg(&signature)
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        judge.stdin.take().unwrap().write_all(message).unwrap();
        judge.wait().unwrap().success()
    };
    assert!(ask("fulgurite-pack-checked", &message));
    assert!(!ask("fulgurite-pack-authorised", &message));
    assert!(!ask("fulgurite-pack-checked", &message[1..]));

    // ssh-keygen's, taken into the same pack.
    let manifest = bench.path("tagmanifest-sha256.txt");
    std::fs::write(&manifest, &message).unwrap();
    let made = Command::new("ssh-keygen")
        .args(["-q", "-Y", "sign", "-n", "fulgurite-pack-authorised", "-f", text(&bench.path("heron"))])
        .arg(&manifest)
        .output()
        .unwrap();
    assert!(made.status.success(), "{}", told(&made));
    let both = bench.path("2.zip");
    let theirs = bench.path("tagmanifest-sha256.txt.sig");
    let attach = run(&[
        "sign",
        text(&checked),
        "--attach",
        text(&theirs),
        "--role",
        "authorised",
        "--out",
        text(&both),
    ]);
    assert!(attach.status.success(), "{}", told(&attach));
    let found = judged(&both, &["--signers", text(&signers), "--signed-as", "checked,authorised"]);
    assert_eq!((found.0, found.1.as_str()), (0, "ok"), "{}", found.2);
    assert!(found.2.contains("t.sedge@example.invalid") && found.2.contains("SHA256:"), "{}", found.2);
    // As another role it is refused before anything is written.
    let wrong = bench.path("3.zip");
    let attach =
        run(&["sign", text(&checked), "--attach", text(&theirs), "--role", "tested", "--out", text(&wrong)]);
    assert_eq!((attach.status.code(), wrong.exists()), (Some(2), false), "{}", told(&attach));
    // The identity is that of the unsigned pack, and the zip is in canonical form.
    let identity = |pack: &Path| {
        let value: serde_json::Value =
            serde_json::from_slice(&run(&["verify", text(pack), "--json", "--depth", "full"]).stdout)
                .unwrap();
        (value["identity"].clone(), value["outcome"].clone())
    };
    assert_eq!(identity(&both), identity(&bench.pack()));
}

#[test]
fn a_wrong_key_a_wrong_purpose_and_an_expired_signer_are_refused() {
    let Some(bench) = Bench::new() else { return };
    let pack = bench.sign(&bench.pack(), "sedge", "authorised", "1.zip");
    for (what, before, key, exit, state, words) in [
        ("the right key", "t.sedge@example.invalid", "sedge", 0, "ok", "t.sedge@example.invalid"),
        (
            "another key",
            "t.sedge@example.invalid",
            "stranger",
            1,
            "failed",
            "no signature is by a signer of the list",
        ),
        (
            "another purpose",
            "t.sedge@example.invalid namespaces=\"fulgurite-pack-checked\"",
            "sedge",
            1,
            "failed",
            "not listed for this purpose",
        ),
        (
            "an expired signer",
            "t.sedge@example.invalid valid-before=\"20200101Z\"",
            "sedge",
            1,
            "failed",
            "not valid at the time",
        ),
    ] {
        let signers = bench.signers("signers", &[(before, key)]);
        let found = judged(&pack, &["--signers", text(&signers)]);
        assert_eq!((found.0, found.1.as_str()), (exit, state), "{what}: {}", found.2);
        assert!(found.2.contains(words), "{what}: {}", found.2);
    }
    // An expired signer was valid on an earlier day.
    let signers =
        bench.signers("signers", &[("t.sedge@example.invalid valid-before=\"20260401Z\"", "sedge")]);
    assert_eq!(judged(&pack, &["--signers", text(&signers), "--on", "2026-03-12"]).0, 0);
    assert_eq!(judged(&pack, &["--signers", text(&signers), "--on", "2026-04-02"]).0, 1);
    // Without a list nothing is trusted, and a pack without a signature is not a signed one.
    let found = judged(&pack, &[]);
    assert_eq!((found.0, found.1.as_str()), (0, "not-done"), "{}", found.2);
    let found = judged(&bench.pack(), &["--signers", text(&signers)]);
    assert_eq!((found.0, found.1.as_str()), (1, "failed"), "{}", found.2);
}
