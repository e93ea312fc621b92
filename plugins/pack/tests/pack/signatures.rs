//! The reference signatures. Source: `../shared/reference/signatures`, each made and confirmed by `ssh-keygen`.

use plugin_pack::{Refusal, Signers, check_signature};
use std::path::{Path, PathBuf};

fn folder() -> Option<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/reference/signatures");
    if folder.is_dir() {
        return Some(folder);
    }
    println!("skipped: {} is not there", folder.display());
    None
}

/// 2026-03-01 00:00 UTC: `date -u -d 2026-03-01 +%s`.
const AT: i64 = 1_772_323_200;

#[test]
fn sshsig_cases_come_out_as_ssh_keygen_says() {
    let Some(folder) = folder() else { return };
    let text = std::fs::read_to_string(folder.join("expected.json")).unwrap();
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    let mut seen = 0;
    for (name, case) in value["cases"].as_object().unwrap() {
        if case["kind"] != "sshsig" {
            continue;
        }
        seen += 1;
        let read = |key: &str| std::fs::read(folder.join(case[key].as_str().unwrap())).unwrap();
        let signers = Signers::parse(&String::from_utf8(read("keys")).unwrap()).unwrap();
        let found = check_signature(
            &read("signature"),
            &read("message"),
            case["namespace"].as_str().unwrap(),
            case["identity"].as_str(),
            &signers,
            AT,
        );
        assert_eq!(Some(found.is_ok()), case["valid"].as_bool(), "{name}: {found:?}, {}", case["why"]);
        // Refused for the reason that the case gives, not for another.
        let fits = match name.as_str() {
            "ssh-tampered-message" | "ssh-crlf-message" => matches!(found, Err(Refusal::Broken)),
            "ssh-unknown-key" => matches!(found, Err(Refusal::UnknownKey(_))),
            "ssh-wrong-namespace" => matches!(found, Err(Refusal::OtherNamespace(_))),
            "ssh-expired" => matches!(found, Err(Refusal::NotValidThen(_))),
            "ssh-other-identity" => matches!(found, Err(Refusal::OtherIdentity(_))),
            "ssh-truncated" | "ssh-not-a-signature" | "ssh-empty" => {
                matches!(found, Err(Refusal::Unreadable(_)))
            }
            "ssh-bit-flip" => matches!(found, Err(Refusal::Broken | Refusal::Unreadable(_))),
            _ => found.is_ok(),
        };
        assert!(fits, "{name}: {found:?}");
    }
    assert_eq!(seen, 13);
}
