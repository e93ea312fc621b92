//! Packs stamped by authorities that `openssl` plays, and judged by this program and by `openssl ts -verify`.

#![allow(clippy::unwrap_used, reason = "a test that can not go on has failed")]
#![allow(clippy::print_stderr, reason = "a skipped test says so")]

#[path = "harness/program.rs"]
mod program;

use std::path::{Path, PathBuf};
use std::process::Command;

use program::{run, text, told};

struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    /// A folder with a pack, what is to be stamped, a root, and authorities below it; none without `openssl`.
    fn new() -> Option<Self> {
        if Command::new("openssl").arg("version").output().is_err() {
            eprintln!("skipped: openssl is not there");
            return None;
        }
        let bench = Self { folder: tempfile::tempdir().unwrap() };
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/demo/lock-gate-settled");
        let made =
            run(&["convert", text(&demo), "--to", "pack", "--quiet", "--out", text(bench.folder.path())]);
        assert!(made.status.success(), "{}", told(&made));
        let mut zip = zip::ZipArchive::new(std::fs::File::open(bench.pack()).unwrap()).unwrap();
        let name = zip
            .file_names()
            .map(|name| name.unwrap().into_owned())
            .find(|name| name.ends_with("/tagmanifest-sha256.txt"))
            .unwrap();
        std::io::copy(
            &mut zip.by_name(&name).unwrap(),
            &mut std::fs::File::create(bench.path("tagmanifest-sha256.txt")).unwrap(),
        )
        .unwrap();
        bench.write("tsa.cnf", CONFIGURATION);
        bench.openssl("req -x509 -newkey rsa:2048 -nodes -keyout root.key -out root.crt -days 30 -config tsa.cnf -extensions root -subj /CN=Root");
        bench.openssl("req -x509 -newkey rsa:2048 -nodes -keyout other.key -out other.crt -days 30 -config tsa.cnf -extensions root -subj /CN=Other");
        Some(bench)
    }

    /// Makes a certificate below the root.
    fn certificate(&self, name: &str, key: &str, extensions: &str, days: &str) {
        self.openssl(&format!("req -new -newkey {key} -nodes -keyout {name}.key -out {name}.csr -config tsa.cnf -subj /CN={name}"));
        self.openssl(&format!("x509 -req -in {name}.csr -CA root.crt -CAkey root.key -CAcreateserial -out {name}.crt -days {days} -extfile tsa.cnf -extensions {extensions}"));
    }

    /// Has what is to be stamped stamped by an authority.
    fn stamp(&self, name: &str, digest: &str) -> PathBuf {
        self.openssl(&format!("ts -query -data tagmanifest-sha256.txt -{digest} -cert -out {name}.tsq"));
        self.openssl(&format!("ts -reply -config tsa.cnf -section tsa -queryfile {name}.tsq -inkey {name}.key -signer {name}.crt -out {name}.tsr"));
        self.path(&format!("{name}.tsr"))
    }

    fn openssl(&self, arguments: &str) -> bool {
        let output = Command::new("openssl")
            .args(arguments.split(' '))
            .current_dir(self.folder.path())
            .output()
            .unwrap();
        assert!(output.status.success(), "openssl {arguments}\n{}", told(&output));
        true
    }

    /// What `openssl ts -verify` says.
    fn judge(&self, token: &Path, authority: &str) -> bool {
        Command::new("openssl")
            .args([
                "ts",
                "-verify",
                "-data",
                "tagmanifest-sha256.txt",
                "-in",
                text(token),
                "-CAfile",
                authority,
            ])
            .current_dir(self.folder.path())
            .output()
            .unwrap()
            .status
            .success()
    }

    /// What this program says of a token beside the pack: the exit code, and the check as JSON.
    fn ours(&self, token: &Path, authority: &str) -> (i32, String) {
        self.verify(&self.pack(), &["--time-stamp", text(token), "--tsa-cert", text(&self.path(authority))])
    }

    fn verify(&self, pack: &Path, more: &[&str]) -> (i32, String) {
        let mut arguments = vec!["verify", text(pack), "--json", "--depth", "full"];
        arguments.extend(more);
        let output = run(&arguments);
        let value: serde_json::Value =
            serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{}", told(&output)));
        let checks = value["checks"].as_array().unwrap();
        let check = checks.iter().find(|check| check["id"] == "time-stamp").unwrap();
        (output.status.code().unwrap(), format!("{check} {}", value["identity"]))
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn write(&self, name: &str, text: &str) {
        std::fs::write(self.path(name), text).unwrap();
    }

    fn pack(&self) -> PathBuf {
        self.path("lock-gate-settled.evidence.zip")
    }
}

const CONFIGURATION: &str = "\
[req]
distinguished_name = name
[name]
[root]
basicConstraints = critical,CA:TRUE
[stamps]
basicConstraints = critical,CA:FALSE
keyUsage = critical,digitalSignature
extendedKeyUsage = critical,timeStamping
[stamps_too]
extendedKeyUsage = timeStamping,codeSigning
[tsa]
serial = serial
crypto_device = builtin
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha1, sha256, sha384, sha512
ess_cert_id_alg = sha256
accuracy = secs:1, millisecs:500
clock_precision_digits = 3
ordering = yes
tsa_name = yes
";

#[test]
fn ours_and_openssl_agree_on_time_stamps() {
    let Some(bench) = Bench::new() else { return };
    for (name, key, digest) in [
        ("rsa", "rsa:2048", "sha256"),
        ("large", "rsa:4096", "sha512"),
        ("p256", "ec -pkeyopt ec_paramgen_curve:P-256", "sha384"),
        ("p384", "ec -pkeyopt ec_paramgen_curve:P-384", "sha512"),
    ] {
        bench.certificate(name, key, "stamps", "30");
        let token = bench.stamp(name, digest);
        let found = bench.ours(&token, "root.crt");
        assert!(bench.judge(&token, "root.crt"), "{name}");
        assert_eq!(found.0, 0, "{name}: {}", found.1);
        assert!(found.1.contains(&format!("by CN={name}")), "{}", found.1);
        // The authority's own certificate will do, without the root.
        assert_eq!(bench.ours(&token, &format!("{name}.crt")).0, 0, "{name}");
        // An authority that nobody named.
        let found = bench.ours(&token, "other.crt");
        assert!(!bench.judge(&token, "other.crt"));
        assert_eq!(
            (found.0, found.1.contains("whom no certificate given stands for")),
            (1, true),
            "{}",
            found.1
        );
    }

    // A digest that is not taken for sound any more, though openssl still takes it.
    let token = bench.stamp("rsa", "sha1");
    let found = bench.ours(&token, "root.crt");
    assert_eq!((found.0, found.1.contains("not taken for sound")), (1, true), "{}", found.1);

    // A certificate that had run out.
    bench.certificate("late", "rsa:2048", "stamps", "-1");
    let token = bench.stamp("late", "sha256");
    let found = bench.ours(&token, "root.crt");
    assert!(!bench.judge(&token, "root.crt"));
    assert_eq!((found.0, found.1.contains("was not valid")), (1, true), "{}", found.1);

    // A certificate that is not for time stamps alone; openssl makes no token with it, so its parts are put together.
    bench.certificate("both", "rsa:2048", "stamps_too", "30");
    bench.stamp("rsa", "sha256");
    bench.openssl("ts -reply -in rsa.tsr -token_out -out rsa.token");
    bench.openssl("cms -verify -noverify -inform DER -in rsa.token -out stated.der");
    bench.openssl("cms -sign -binary -nodetach -cades -nosmimecap -econtent_type 1.2.840.113549.1.9.16.1.4 -in stated.der -signer both.crt -inkey both.key -outform DER -out both.token");
    let found = bench.ours(&bench.path("both.token"), "root.crt");
    assert_eq!((found.0, found.1.contains("is not for time stamps")), (1, true), "{}", found.1);
    // The same, put together with a certificate for time stamps, is a token: it was the certificate.
    bench.openssl("cms -sign -binary -nodetach -cades -nosmimecap -econtent_type 1.2.840.113549.1.9.16.1.4 -in stated.der -signer rsa.crt -inkey rsa.key -outform DER -out again.token");
    let found = bench.ours(&bench.path("again.token"), "root.crt");
    assert_eq!(found.0, 0, "{}", found.1);
}

#[test]
fn a_time_stamp_is_put_into_a_pack_and_found_there() {
    let Some(bench) = Bench::new() else { return };
    bench.certificate("rsa", "rsa:2048", "stamps", "30");
    let token = bench.stamp("rsa", "sha256");
    let root = bench.path("root.crt");
    let out = bench.path("stamped.zip");
    let signed = run(&["sign", text(&bench.pack()), "--time-stamp", text(&token), "--out", text(&out)]);
    assert!(signed.status.success(), "{}", told(&signed));
    let found = bench.verify(&out, &["--tsa-cert", text(&root)]);
    assert_eq!((found.0, found.1.contains("\"state\":\"ok\"")), (0, true), "{}", found.1);
    // The identity stays.
    let identity = |found: &(i32, String)| found.1.rsplit(' ').next().unwrap().to_owned();
    assert_eq!(identity(&found), identity(&bench.verify(&bench.pack(), &[])));
    // Without a certificate it is not checked, and says so.
    let found = bench.verify(&out, &[]);
    assert_eq!(
        (found.0, found.1.contains("not-done") && found.1.contains("--tsa-cert")),
        (0, true),
        "{}",
        found.1
    );
    // Asked for and not there.
    let found = bench.verify(&bench.pack(), &["--tsa-cert", text(&root)]);
    assert_eq!((found.0, found.1.contains("no time stamp")), (1, true), "{}", found.1);
    // Twice the same, and one for something else, are refused before anything is written.
    let again = bench.path("again.zip");
    let twice = run(&["sign", text(&out), "--time-stamp", text(&token), "--out", text(&again)]);
    assert_eq!((twice.status.code(), again.exists()), (Some(2), false), "{}", told(&twice));
    bench.write("tagmanifest-sha256.txt", "something else");
    let other = bench.stamp("rsa", "sha256");
    let wrong = run(&["sign", text(&bench.pack()), "--time-stamp", text(&other), "--out", text(&again)]);
    assert_eq!((wrong.status.code(), again.exists()), (Some(2), false), "{}", told(&wrong));
}
