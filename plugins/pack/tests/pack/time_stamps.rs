//! The reference time stamps. Source: `../shared/reference/signatures`, each made and confirmed by `openssl ts`.

use plugin_pack::{Authorities, StampRefusal, check_time_stamp};
use std::path::{Path, PathBuf};

fn folder() -> Option<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/reference/signatures");
    if folder.is_dir() {
        return Some(folder);
    }
    println!("skipped: {} is not there", folder.display());
    None
}

#[test]
fn rfc3161_cases_come_out_as_openssl_says() {
    let Some(folder) = folder() else { return };
    let text = std::fs::read_to_string(folder.join("expected.json")).unwrap();
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    let mut seen = 0;
    for (name, case) in value["cases"].as_object().unwrap() {
        if case["kind"] != "rfc3161" {
            continue;
        }
        seen += 1;
        let read = |key: &str| std::fs::read(folder.join(case[key].as_str().unwrap())).unwrap();
        let authorities = Authorities::parse(&read("keys")).unwrap();
        let found = check_time_stamp(&read("signature"), &read("message"), &authorities);
        assert_eq!(Some(found.is_ok()), case["valid"].as_bool(), "{name}: {found:?}, {}", case["why"]);
        // Refused for the reason that the case gives, not for another.
        let fits = match name.as_str() {
            // `openssl ts -reply -in r.tsr -text` prints this time and number.
            "rfc3161-good" => found
                .as_ref()
                .is_ok_and(|stamped| stamped.at == "2026-11-25T13:13:22Z" && stamped.serial == "02"),
            "rfc3161-tampered" => matches!(found, Err(StampRefusal::OtherContent)),
            "rfc3161-untrusted-tsa" => matches!(found, Err(StampRefusal::Untrusted(_))),
            "rfc3161-bit-flip" => matches!(found, Err(StampRefusal::Broken)),
            _ => false,
        };
        assert!(fits, "{name}: {found:?}");
    }
    assert_eq!(seen, 4);
}

/// No byte of a token can be changed so that it states another time, number or authority.
#[test]
fn no_flipped_byte_changes_what_a_token_states() {
    let Some(folder) = folder() else { return };
    let read = |name: &str| std::fs::read(folder.join(name)).unwrap();
    let (token, message) = (read("r.tsr"), read("tagmanifest-sha256.txt"));
    let authorities = Authorities::parse(&read("tsa.crt")).unwrap();
    let good = check_time_stamp(&token, &message, &authorities).unwrap();
    let mut harmless = Vec::new();
    for at in 0..token.len() {
        for flip in [0x01, 0x80, 0xFF] {
            let mut changed = token.clone();
            changed[at] ^= flip;
            if let Ok(found) = check_time_stamp(&changed, &message, &authorities) {
                assert_eq!(found, good, "byte {at}");
                harmless.push(at);
            }
        }
    }
    // What may change: the certificate that the token brings along (bytes 174 to 992, as `openssl asn1parse` shows them),
    // since the same is given from outside; and a few marks of the wrapping, under which everything is named again.
    harmless.retain(|at| !(174..993).contains(at));
    harmless.dedup();
    assert!(harmless.len() < 25, "{harmless:?}");
    for length in 0..token.len() {
        assert!(check_time_stamp(&token[..length], &message, &authorities).is_err(), "cut at {length}");
    }
}
