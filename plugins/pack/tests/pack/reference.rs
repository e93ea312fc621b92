//! The reference zips: bags after RFC 8493, and hostile zips. Source: `fixtures/README.md`.

use plugin_pack::{Limits, Outcome, State, verify_zip};
use std::io::Cursor;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures")
}

fn cases(set: &str) -> serde_json::Map<String, serde_json::Value> {
    let text = std::fs::read_to_string(fixtures().join(set).join("expected.json")).unwrap();
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    value["cases"].as_object().unwrap().clone()
}

#[test]
fn bags_come_out_as_the_rfc_says() {
    let cases = cases("bagit");
    assert_eq!(cases.len(), 55);
    let mut wrong = String::new();
    for (name, case) in &cases {
        let bytes = std::fs::read(fixtures().join("bagit").join(name)).unwrap();
        let report = verify_zip(Cursor::new(bytes), &Limits::default());
        let fits = match case["expect"].as_str().unwrap() {
            "valid" => report.outcome == Outcome::ForeignBag,
            "invalid" => matches!(report.outcome, Outcome::Altered | Outcome::Refused),
            "incomplete" => {
                report.outcome == Outcome::Altered && report.to_string().contains("is only in fetch.txt")
            }
            // A line feed in a name is legal in a bag and refused by us in a zip; the two others we accept.
            "impl-defined" if name == "v-newline-in-name.zip" => report.outcome == Outcome::Refused,
            "impl-defined" => report.outcome == Outcome::ForeignBag,
            other => panic!("unknown expectation {other}"),
        };
        if !fits {
            wrong.push_str(&format!("{name}: {}\n{report}\n", case["reason"]));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

/// The check that finds the defect, for every invalid bag: a bag must not be called invalid for another reason.
#[test]
fn each_bad_bag_fails_the_check_that_it_should() {
    let expected = [
        ("c-fetch-missing-file", &["fetch", "completeness"][..]),
        ("i-algorithm-unknown", &["manifests"]),
        ("i-declaration-bom", &["declaration"]),
        ("i-declaration-encoding", &["declaration"]),
        ("i-declaration-no-encoding", &["declaration"]),
        ("i-declaration-order", &["declaration"]),
        ("i-declaration-third-line", &["declaration"]),
        ("i-declaration-version", &["declaration"]),
        ("i-digest-malformed", &["manifests", "completeness"]),
        ("i-digest-wrong-algorithm", &["manifests", "completeness"]),
        ("i-duplicate-entry-different", &["manifests"]),
        ("i-duplicate-entry-same", &["manifests"]),
        ("i-fetch-not-in-manifest", &["completeness"]),
        ("i-fetch-path-escapes", &["fetch"]),
        ("i-manifest-lists-tag-file", &["manifests"]),
        ("i-manifest-path-absolute", &["manifests"]),
        ("i-manifest-path-dotdot", &["manifests"]),
        ("i-manifest-path-drive", &["manifests"]),
        ("i-manifest-path-tilde", &["manifests"]),
        ("i-manifests-disagree", &["completeness"]),
        ("i-no-data-dir", &["root"]),
        ("i-no-declaration", &["root"]),
        ("i-no-manifest", &["manifests"]),
        ("i-oxum-bytes", &["oxum"]),
        ("i-oxum-count", &["oxum"]),
        ("i-payload-and-manifest-rewritten", &["tag-checksums"]),
        ("i-payload-bit-flip", &["payload-checksums"]),
        ("i-payload-extra", &["completeness"]),
        ("i-payload-missing", &["completeness"]),
        ("i-payload-swapped", &["payload-checksums"]),
        ("i-payload-truncated", &["payload-checksums"]),
        ("i-second-manifest-wrong", &["payload-checksums"]),
        ("i-tag-changed", &["tag-checksums"]),
        ("i-tag-missing", &["completeness"]),
        ("i-zip-extra-top-level", &["root"]),
        ("i-zip-flat", &[]),
        ("i-zip-two-bags", &["root"]),
    ];
    let mut wrong = String::new();
    for (name, checks) in expected {
        let bytes = std::fs::read(fixtures().join("bagit").join(format!("{name}.zip"))).unwrap();
        let report = verify_zip(Cursor::new(bytes), &Limits::default());
        let failed: Vec<&str> = report
            .checks
            .iter()
            .filter(|check| matches!(check.state, State::Failed { .. }))
            .map(|check| check.id)
            .collect();
        let missed = checks.iter().any(|check| !failed.contains(check));
        if missed || (checks.is_empty() != failed.is_empty()) {
            wrong.push_str(&format!("{name}: expected {checks:?}, failed {failed:?}\n{report}\n"));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn hostile_zips_are_refused_and_sound_ones_are_not() {
    let cases = cases("zips");
    assert_eq!(cases.len(), 60);
    let mut wrong = String::new();
    let mut table = String::new();
    for (name, case) in &cases {
        let bytes = std::fs::read(fixtures().join("zips").join(name)).unwrap();
        let start = Instant::now();
        let report = verify_zip(Cursor::new(bytes), &Limits::default());
        let took = start.elapsed();
        let fits = match case["outcome"].as_str().unwrap() {
            "refuse" => !report.outcome.is_sound(),
            "accept" => report.outcome == Outcome::ForeignBag,
            "either" => true,
            other => panic!("unknown expectation {other}"),
        };
        let text = report.to_string();
        // Control characters and direction marks never reach the terminal.
        let shown_safely = !text.chars().any(|c| (c.is_control() && c != '\n') || c == '\u{202E}');
        if !fits || !shown_safely || took > Duration::from_secs(20) {
            wrong.push_str(&format!("{name}: {} ({took:?})\n{report}\n", case["why"]));
        }
        let first = text.lines().find(|line| line.starts_with("              ")).unwrap_or("").trim();
        table.push_str(&format!(
            "{name:34} {:8} {:?}: {first}\n",
            case["outcome"].as_str().unwrap(),
            report.outcome
        ));
    }
    println!("{table}");
    assert!(wrong.is_empty(), "{wrong}");
}
